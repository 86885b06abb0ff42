/** Every student in short, from `/ws/board`. Rule: what the server no longer vouches for is not shown as if it were now. */
import { decodeBoard } from '../wire/board';
import { LiveSocket, liveUrl, type Link } from '../wire/socket';
import type * as T from '../wire/types.gen';

export type BoardStatus = 'connecting' | 'open' | 'lost' | 'refused';

export class BoardState {
  status = $state<BoardStatus>('connecting');
  bays = $state.raw<readonly T.BoardBay[]>([]);
  /** A board has come since the link was made. */
  heard = $state(false);
  /** Why the board is not for this page, in the server's words. */
  refusal = $state('');
  malformed = $state(0);

  private readonly socket: LiveSocket;

  constructor(as: 'coach' | 'viewer' = 'coach') {
    this.socket = new LiveSocket(liveUrl(window.location, { as }, 'ws/board'), {
      onText: (data) => this.onText(data),
      onLink: (link) => this.onLink(link),
      onRefused: (reason) => (this.refusal = reason)
    });
  }

  close(): void {
    this.socket.close();
  }

  private onText(data: unknown): void {
    const said = decodeBoard(data);
    if (said.kind === 'board') {
      this.bays = said.board.bays;
      this.heard = true;
      this.status = 'open';
      this.refusal = '';
    } else if (said.kind === 'pong') this.socket.onPong(said.token);
    else this.malformed += 1;
  }

  /** A server that refuses opens the link to say why: it is open for good with the first board. */
  private onLink(link: Link): void {
    if (link === 'open') return;
    this.status = link === 'lost' ? 'lost' : 'refused';
    this.heard = false;
    this.bays = this.bays.map(blank);
  }
}

/** Who there was, without anything that may have changed since. */
function blank(bay: T.BoardBay): T.BoardBay {
  return { ...bay, status: 'waiting', phase: null, bend_change_deg: null, shaft_pitch_deg: null, sounding: false, problem: null };
}
