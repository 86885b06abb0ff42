/**
 * The one connection to the server: opens, keeps alive, acknowledges frames, comes back with growing pauses.
 *
 * Rule 1: `onText` runs inside the browser's message handler, so that the cue waits for no paint.
 * Rule 2: a link that answers no ping is as good as closed, and is closed.
 */
import type { ClientMessage } from './decode';

/** `sent_away`: whoever runs the practice does not want this device in it; it does not come back by itself. */
export type Link = 'connecting' | 'open' | 'lost' | 'sent_away' | 'refused';

export interface SocketHandlers {
  onText(data: unknown): void;
  onLink(link: Link): void;
  /** The server said, in a sentence, why it does not let this page in; it does not knock again. */
  onRefused(reason: string): void;
}

const FIRST_PAUSE_MS = 400;
const LONGEST_PAUSE_MS = 8_000;
const ACK_EVERY_MS = 250;
const PING_EVERY_MS = 2_000;
const DEAD_AFTER_MS = 7_000;
/** How the service closes the socket of a guest who is sent away. */
/** Of the codes that are the service's own, a hundred say that it will be no different the next time. */
const FIRST_REFUSAL = 4400;
const SENT_AWAY = { code: 4403, reason: 'sent away' };

export class LiveSocket {
  /** Newest frame handled; told to the server about four times a second. */
  handledSeq: number | null = null;
  attempts = 0;
  roundTripMs: number | null = null;

  private socket: WebSocket | null = null;
  private timers: number[] = [];
  private retry = 0;
  private pauseMs = FIRST_PAUSE_MS;
  private ackedSeq: number | null = null;
  private token = 0;
  private pingedAt = 0;
  private heardAt = 0;
  private closed = false;

  constructor(
    private readonly url: string,
    private readonly handlers: SocketHandlers
  ) {
    window.addEventListener('online', this.comeBackNow);
    this.connect();
  }

  /** False when there is nobody to send it to. */
  send(message: ClientMessage): boolean {
    if (this.socket?.readyState !== WebSocket.OPEN) return false;
    this.socket.send(JSON.stringify(message));
    return true;
  }

  onPong(token: number): void {
    if (token === this.token) this.roundTripMs = performance.now() - this.pingedAt;
  }

  close(): void {
    this.closed = true;
    window.removeEventListener('online', this.comeBackNow);
    window.clearTimeout(this.retry);
    this.drop();
  }

  private connect(): void {
    this.attempts += 1;
    const socket = new WebSocket(this.url);
    this.socket = socket;
    socket.onopen = () => this.opened();
    socket.onmessage = (event) => {
      this.heardAt = performance.now();
      this.handlers.onText(event.data);
    };
    socket.onclose = ({ code, reason }) => {
      if (code === SENT_AWAY.code && reason === SENT_AWAY.reason) this.sentAway();
      else if (code >= FIRST_REFUSAL && code < FIRST_REFUSAL + 100) this.refused(reason);
      else this.lost();
    };
  }

  private opened(): void {
    this.pauseMs = FIRST_PAUSE_MS;
    this.heardAt = performance.now();
    this.handledSeq = null;
    this.ackedSeq = null;
    this.timers = [window.setInterval(() => this.acknowledge(), ACK_EVERY_MS), window.setInterval(() => this.ping(), PING_EVERY_MS)];
    this.handlers.onLink('open');
  }

  private acknowledge(): void {
    if (this.handledSeq === null || this.handledSeq === this.ackedSeq) return;
    if (this.send({ type: 'ack', seq: this.handledSeq })) this.ackedSeq = this.handledSeq;
  }

  private ping(): void {
    if (performance.now() - this.heardAt > DEAD_AFTER_MS) {
      this.lost();
      return;
    }
    this.token += 1;
    this.pingedAt = performance.now();
    this.send({ type: 'ping', token: this.token });
  }

  private lost(): void {
    this.drop();
    if (this.closed) return;
    this.handlers.onLink('lost');
    window.clearTimeout(this.retry);
    // A little chance in the pause keeps many phones from knocking at the same instant.
    this.retry = window.setTimeout(() => this.connect(), this.pauseMs * (0.8 + 0.4 * Math.random()));
    this.pauseMs = Math.min(this.pauseMs * 2, LONGEST_PAUSE_MS);
  }

  private sentAway(): void {
    this.close();
    this.handlers.onLink('sent_away');
  }

  private refused(reason: string): void {
    this.close();
    this.handlers.onLink('refused');
    this.handlers.onRefused(reason);
  }

  /** Forget the present socket without hearing from it again. */
  private drop(): void {
    for (const timer of this.timers) window.clearInterval(timer);
    this.timers = [];
    this.roundTripMs = null;
    const socket = this.socket;
    this.socket = null;
    if (!socket) return;
    socket.onopen = socket.onmessage = socket.onclose = null;
    socket.close();
  }

  private readonly comeBackNow = (): void => {
    if (this.closed || this.socket) return;
    window.clearTimeout(this.retry);
    this.connect();
  };
}

/** Whose practice is asked for, and as what; where nothing is said the service decides. */
export interface BayQuery {
  readonly bay?: string;
  readonly as?: string;
}

/** What the page's own address asks for. */
function askedBy(place: Location): BayQuery {
  const asked = new URLSearchParams(place.search);
  const [bay, as] = [asked.get('bay'), asked.get('as')];
  return { ...(bay ? { bay } : {}), ...(as ? { as } : {}) };
}

export function liveUrl(place: Location, query: BayQuery = askedBy(place), path = 'ws/live'): string {
  const url = new URL(path, place.href.split(/[?#]/)[0]);
  for (const [name, value] of Object.entries(query)) url.searchParams.set(name, value);
  return url.href.replace(/^http/, 'ws');
}
