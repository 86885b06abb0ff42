/** What the HTTP API cannot do: its `detail` is a sentence for the person. By itself, so that a page knows one without what asks. */
import type { ProblemCode } from './types.gen';

/** `unreachable`: nobody answered. `unreadable`: somebody did, but not our service. Else the service's own code. */
export type Code = ProblemCode | 'unreachable' | 'unreadable';

export class Problem extends Error {
  constructor(
    readonly code: Code,
    readonly detail: string,
    readonly status: number
  ) {
    super(detail);
  }
}
