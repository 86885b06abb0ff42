/** What the API answers, by the names that the review page has for it. */
import type { MarkView, NoteView, PlayerView, PracticeView, StintView } from './types.gen';

export type { PracticeWhole, RepKind, Trace, Verdict } from './types.gen';
export type Mark = MarkView;
export type Note = NoteView;
export type Player = PlayerView;
export type Practice = PracticeView;
export type Stint = StintView;

/** Quantities in degrees of a trace and of a mark that are drawn, each with its standard deviation beside it. */
export const COLUMNS = ['bend_change_deg', 'shaft_pitch_deg', 'shaft_elevation_deg', 'face_twist_deg', 'forearm_roll_deg', 'hinge_change_deg', 'bend_deg'] as const;
export type Column = (typeof COLUMNS)[number];
/** What has a line of its own: those, and a length. */
export const DRAWN = [...COLUMNS, 'butt_line_m'] as const;
export type Drawn = (typeof DRAWN)[number];
export type SdColumn = `${Drawn}_sd`;
