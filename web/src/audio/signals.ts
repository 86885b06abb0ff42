/**
 * What the golfer hears who cannot look at the page: told apart by how many notes there are and how long, not by pitch alone.
 * Begin: two short. Hold: one long. Taken: three quick, rising. Again: two long, falling.
 */
export type Signal = 'begin' | 'hold' | 'taken' | 'again';

export interface Note {
  readonly hz: number;
  readonly fromS: number;
  readonly lengthS: number;
}

export const SIGNALS: Readonly<Record<Signal, readonly Note[]>> = {
  begin: [
    { hz: 495, fromS: 0, lengthS: 0.09 },
    { hz: 495, fromS: 0.2, lengthS: 0.09 }
  ],
  hold: [{ hz: 440, fromS: 0, lengthS: 0.6 }],
  taken: [
    { hz: 392, fromS: 0, lengthS: 0.07 },
    { hz: 494, fromS: 0.14, lengthS: 0.07 },
    { hz: 587, fromS: 0.28, lengthS: 0.07 }
  ],
  again: [
    { hz: 494, fromS: 0, lengthS: 0.3 },
    { hz: 370, fromS: 0.5, lengthS: 0.3 }
  ]
};
