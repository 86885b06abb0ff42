/** How a player came along: days, ways of swinging, shares, trends. */
import type { DrillRef, RetentionView, SampleView, TrendView, Way } from '../api/types.gen';
import { amountWords, unitMark, unitOf } from './amount';
import { inBandWords } from './retest';

export const PROGRESS_TITLE = 'Progress';
export const PROGRESS_PAGE_TITLE = 'Progress · Pitchbend';
export const PROGRESS_LOADING = 'Fetching the days.';
export const PROGRESS_OF = 'Your progress';
export const PROGRESS_NAV = 'To other pages';
export const TO_SWING = 'To the swing';
export const TO_PRACTICES = 'Practices';
export const WHOSE = 'Whose progress?';
export const NO_PLAYERS = 'Nobody is in the store yet. What you record comes into it by itself when the practice ends.';
export const NO_REPS = 'No rep yet that counts.';
export const NO_NAME = '(no name)';
export const WHICH_DRILL = 'Drill';
export const WHAT_SHOWN = 'What is shown';
export const SHOW_SHARE = 'In the band';
export const SHOW_MEDIAN = 'Median';
export const DAYS_TITLE = 'By day';
export const KEPT_TITLE = 'What was left later';
export const KEPT_NONE = 'No next-day test yet. It is offered the day after a drill that was gone through to its test.';
export const TREND_TITLE = 'Trend';
export const TABLE_TITLE = 'All figures';
export const PLOT_FAILED = 'The picture could not be loaded; the table below has its figures.';
export const COLUMNS = ['day', 'swung', 'in band', 'share', 'median', 'middle half'] as const;
export const SHARE_NOTE = 'The bar is where the true share lies in 95 of 100 cases (Wilson): with few reps it is long.';
export const MEDIAN_NOTE = 'The worst moment of each rep: the mark is the middle one, the bar the middle half. The band is shaded; a dashed line is a trend.';

export const WAY_WORDS: Readonly<Record<Way, string>> = { cued: 'cued', silent: 'silent', test: 'test', next_day: 'next-day test' };
export const WAY_MEANS: Readonly<Record<Way, string>> = {
  cued: 'with the cue',
  silent: 'without it, between cued reps or after the last block',
  test: 'in the test of the same day',
  next_day: 'in a test with which a later day began'
};

export function bandOf(drill: Pick<DrillRef, 'low' | 'high' | 'quantity'>): string {
  return `${amountWords(drill.low, drill.quantity)} to ${amountWords(drill.high, drill.quantity)}`;
}
export function drillOption(drill: DrillRef): string {
  return `${drill.name}, ${bandOf(drill)}`;
}
export function dayWords(day: string): string {
  return new Date(`${day}T12:00:00`).toLocaleDateString('en-GB', { day: 'numeric', month: 'short' });
}
export function shareWords(share: number): string {
  return `${Math.round(100 * share)} %`;
}

/** The cells of a table's row behind day and way. */
export function sampleCells(sample: SampleView, drill: DrillRef): readonly string[] {
  const { share, share_low: low, share_high: high, median, low_quartile: q1, high_quartile: q3 } = sample;
  if (share === null || low === null || high === null || median === null) return [inBandWords(sample), '–', '–', '–'];
  return [
    `${sample.n_in_band} of ${sample.n_judged}`,
    `${shareWords(share)} (${Math.round(100 * low)} to ${Math.round(100 * high)})`,
    amountWords(median, drill.quantity),
    q1 === null || q3 === null ? 'not enough reps' : `${amountWords(q1, drill.quantity)} to ${amountWords(q3, drill.quantity)}`
  ];
}

function slope(value: number, drill: DrillRef): string {
  const text = Math.abs(value).toFixed(unitOf(drill.quantity) === 's' ? 2 : 1);
  return `${value < 0 ? '−' : '+'}${text}${unitMark(drill.quantity)}`;
}

/** A trend, or how many reps are missing for one. */
export function trendWords(trend: TrendView, drill: DrillRef): string {
  const { per_week: value, per_week_low: low, per_week_high: high } = trend;
  if (value === null || low === null || high === null) {
    return `not enough reps: at least ${trend.missing_reps} more, on ${trend.missing_days === 1 ? 'one more day' : `${trend.missing_days} more days`}`;
  }
  return `${slope(value, drill)} a week (${slope(low, drill)} to ${slope(high, drill)}), over ${trend.n_days} days${low <= 0 && high >= 0 ? '; it may be chance' : ''}`;
}
export function trendRule(reps: number, days: number): string {
  return `A day counts with ${reps} judged reps of a kind, and a trend takes ${days} such days: fewer cannot be told from chance.`;
}

export function keptWords(kept: RetentionView): string {
  const later = kept.days_between === 1 ? 'the next day' : `${kept.days_between} days later`;
  const before = [kept.cued ? `${inBandWords(kept.cued)} with the cue` : '', kept.silent ? `${inBandWords(kept.silent)} without` : ''].filter(Boolean).join(', ');
  return `${dayWords(kept.day)}, ${later}, without the cue: ${inBandWords(kept.test)}. Last blocks on ${dayWords(kept.before_day)}: ${before}.`;
}
export function plotTitle(what: string): string {
  return `${what} by day, with the spread; the figures are in the table below`;
}
