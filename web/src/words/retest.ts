/** The test of an earlier day's drill: offered, under way, and its result. */
import type { RetestView, SampleView } from '../api/types.gen';

export const RETEST_TITLE = 'Next-day test';
export const RETEST_BEGIN = 'Begin the test';
export const RETEST_LATER = 'Not today';
export const RETEST_NOT_SENT = 'Not begun: the server does not answer.';
export const RETEST_GO_ON = 'Go on with the drill';
export const RETEST_CLOSE = 'Close';

/** What is due, and since when. */
export function dueWords(due: RetestView): string {
  const when = due.days_since === 1 ? 'You practised it yesterday: the test is due today.' : `You practised it ${due.days_since} days ago: the test is ${due.days_since - 1 === 1 ? 'a day' : `${due.days_since - 1} days`} overdue.`;
  return `${due.drill.name}. ${when}`;
}
export function howWords(due: RetestView): string {
  return `${due.n_reps} swings without cue and figures, before you practise it again.`;
}

export function inBandWords(sample: { readonly n_judged: number; readonly n_in_band: number }): string {
  return sample.n_judged === 0 ? 'none could be judged' : `${sample.n_in_band} of ${sample.n_judged} in the band`;
}

/** How it was on the day that is tested. */
export function beforeWords(due: { readonly before_day: string; readonly cued: SampleView | null; readonly silent: SampleView | null }): string {
  const parts = [due.cued ? `${inBandWords(due.cued)} with the cue` : '', due.silent ? `${inBandWords(due.silent)} without` : ''].filter(Boolean);
  return parts.length ? `Last blocks on ${due.before_day}: ${parts.join(', ')}.` : '';
}
