/** The drill in force, its blocks and tests, the pause. */
import type { BlockView, CourseView, CueShare, DrillView, JudgedView } from '../wire/types.gen';
import { excessWords } from './amount';
import { IN_THE_BAND, sideWord } from './swing';

export const DRILLS_TITLE = 'Drills';
export const TEST_TITLE = 'Test';
export const TEST_FEEL = 'No cue and no figures. Swing as you have learnt it; the result comes at the end.';
export const SWINGS_MADE = 'Swings made:';
export function ofWords(reps: number): string {
  return `of ${reps}`;
}
export const COURSE_OVER = 'All blocks done. Rest, then test again tomorrow; or tap the drill below to begin anew.';

/** How often a block's reps are cued. */
export const CUE_SHARE: Readonly<Record<CueShare, string>> = {
  every: 'cue on every rep',
  half: 'cue on every other rep',
  quarter: 'cue on one rep in four',
  none: 'test, no cue'
};

/** Where the player stands in the drill. */
export function courseWords(course: CourseView): string {
  const block = course.block === null ? undefined : course.blocks[course.block];
  if (course.block === null || !block) return COURSE_OVER;
  const next = block.cue === 'every' || block.cue === 'none' ? '' : course.cued ? ' This one is cued.' : ' This one is silent.';
  return `Block ${course.block + 1} of ${course.blocks.length}, rep ${block.swung + 1} of ${block.reps}: ${CUE_SHARE[block.cue]}.${next}`;
}

/** A test under way keeps its result to itself. */
export function blockResult(block: BlockView): string {
  if (!block.swung) return `${block.reps} reps`;
  if (block.swung < block.reps) return block.cue === 'none' ? `${block.swung} of ${block.reps}` : `${block.in_band} of ${block.judged} in the band`;
  return `${block.in_band} of ${block.judged} in the band`;
}

export const PAUSE = 'Pause';
export const GO_ON = 'Go on';
export const PAUSED_TITLE = 'PAUSED';
export const PAUSED_MEANS = 'Nothing sounds. Swings count for no block.';

/** Where the player stands, short enough for a glance. */
export function courseShort(course: CourseView): string {
  const block = course.block === null ? undefined : course.blocks[course.block];
  if (course.block === null || !block) return COURSE_OVER;
  return `Block ${course.block + 1} of ${course.blocks.length}, rep ${block.swung + 1} of ${block.reps}${course.cued ? '' : ', silent'}`;
}

export const THE_DRILL = 'The drill';
export const NOT_CHOSEN = 'Not chosen: the server does not answer.';
export const DRILLS_HINT = "Tap the drill in force to begin its blocks anew. Targets are a coach's choice and no norm.";
export const CHANGE_DRILL = 'Change this drill';
export const ALSO = 'Also:';

/** How a rep stood to the second drill. */
export function secondWords(judged: JudgedView, drill: DrillView): string {
  const worst = judged.worst ?? null;
  if (judged.verdict === 'unknown' || worst === null) return 'not judged';
  if (judged.verdict === 'in_band') return IN_THE_BAND;
  const past = judged.verdict === 'below' ? drill.low - worst : worst - drill.high;
  return `${sideWord(judged.quantity, judged.verdict === 'above')} ${excessWords(past, judged.quantity)} past its band`;
}
