/**
 * Everything the page knows of the practice.
 *
 * Rule 1: the newest frame is a plain variable; the paint loop reads it. Only what changes a few times a second is reactive.
 * Rule 2: the cue is passed on here, inside the socket's message handler.
 * Rule 3: what is old is nothing: without a fresh frame there is no value and no sound.
 */
import type { SoundEngine } from '../audio/engine.svelte';
import { isOfWholeSwing } from '../words/amount';
import { decode, type ReplayAsk, type ServerMessage } from '../wire/decode';
import { LiveSocket, liveUrl, type BayQuery, type Link } from '../wire/socket';
import type * as T from '../wire/types.gen';
import { linkTrouble } from './link_trouble';
import { verdictSentence } from './verdict';

type DrillAsk = T.DrillTextMessage | T.BandMessage | T.SecondMessage | T.EditDrillMessage | T.TryDrillMessage | T.SaveDrillMessage;

export type Status = 'connecting' | 'lost' | 'sent_away' | 'refused' | 'waiting' | 'live' | 'stale' | 'ended';

const STALE_AFTER_MS = 1_000;
const TICK_MS = 200;
/** Advice that comes and goes faster than it can be read is not shown. */
const ADVICE_AFTER_MS = 500;
/** A link that is back sooner is not worth a word. By then it is known, too, whether the computer's own Bluetooth has gone. */
const LINK_TROUBLE_AFTER_MS = 1_500;
const KEPT_REPS = 12;
const KEPT_PROBLEMS = 3;
const KEPT_NOTES = 50;
const KEPT_SAID = 8;

/** A rep told again, as when a recording is wound back, takes the place of what was told before. */
function newestOf(reps: readonly T.RepMessage[]): readonly T.RepMessage[] {
  const last = new Map(reps.map((rep, i) => [rep.index, i]));
  return reps.filter((rep, i) => last.get(rep.index) === i).slice(-KEPT_REPS);
}

export class LiveState {
  /** Newest frame, or null when there is none that is fresh. */
  frame: T.FrameMessage | null = null;
  /** Shaft pitch while the golfer last stood at address. */
  addressPitchDeg: number | null = null;
  received = 0;

  /** What this page came as; null while that is not known. */
  role = $state<string | null>(null);
  /** Somebody else steers, so drill, band, look-ahead and fit cannot be changed here. */
  readonly locked = $derived.by(() => this.role !== null && this.hello !== null && (this.hello.control ?? 'student') !== this.role);

  status = $state<Status>('connecting');
  hello = $state.raw<T.HelloMessage | null>(null);
  fit = $state.raw<T.FitView | null>(null);
  fitNews = $state.raw<T.FitMessage | null>(null);
  sensors = $state.raw<readonly T.SensorView[]>([]);
  /** Null where sensors cannot be chosen, and while the server is away. */
  choosing = $state.raw<T.ChoosingView | null>(null);
  /** Null when this practice is not recorded, or nothing is known of it. */
  tape = $state.raw<T.TapeView | null>(null);
  reps = $state.raw<readonly T.RepMessage[]>([]);
  lastRep = $state.raw<T.RepMessage | null>(null);
  /** Null while nothing fresh says so. */
  phase = $state<T.Phase | null>(null);
  advice = $state('');
  /** Why one of the pair is not heard, and what to do; empty while both are, while the server is away, and of a recording. */
  linkTrouble = $state('');
  problems = $state.raw<readonly T.ProblemMessage[]>([]);
  malformed = $state(0);
  unknown = $state(0);
  skipped = $state(0);
  roundTripMs = $state<number | null>(null);

  /** Answers about drills, to this page alone. */
  drillForm = $state.raw<T.DrillFormMessage | null>(null);
  tried = $state.raw<T.TriedMessage | null>(null);
  /** The id of the drill kept last. */
  saved = $state('');

  /** How the recording is being played; null for live data. */
  replay = $state.raw<T.ReplayView | null>(null);
  timeline = $state.raw<T.ReplayTimelineMessage | null>(null);

  /** The last handing over of the control, until it is put away. */
  controlNews = $state.raw<T.ControlMessage | null>(null);
  /** Number of the newest of the coach's messages that was put away. */
  private saidRead = $state(0);

  /** The coach's newest message that was not put away. */
  get said(): T.SaidMessage | null {
    const newest = this.hello?.said?.at(-1);
    return newest && newest.id > this.saidRead ? newest : null;
  }

  /** Nothing is heard from the server, whosever wish that is. */
  get away(): boolean {
    return this.status === 'lost' || this.status === 'sent_away' || this.status === 'refused';
  }

  /** What is seen was recorded: nobody can be told to do anything about it. */
  get recorded(): boolean {
    return this.hello?.source.kind === 'replay' || this.hello?.source.kind === 'demo';
  }
  /** By this link one looks and changes nothing. */
  get onlyWatches(): boolean {
    return this.role === 'viewer';
  }
  get mayWind(): boolean {
    return !this.away && !this.onlyWatches;
  }

  readonly socket: LiveSocket;
  private link: Link = 'connecting';
  private frameMs = -Infinity;
  private ended = false;
  private lastSeq: number | null = null;
  private skippedFrames = 0;
  private saidAdvice = '';
  private adviceSinceMs = 0;
  private linkDownMs: number | null = null;
  private readonly ticker: number;

  /** `bay`: another practice than this page's own. `hears` is told every message after it has taken effect here. */
  constructor(
    private readonly sound: SoundEngine,
    bay?: BayQuery,
    private readonly hears: (message: ServerMessage) => void = () => {}
  ) {
    this.socket = new LiveSocket(liveUrl(window.location, bay), {
      onText: (data) => this.onText(data),
      onLink: (link) => this.onLink(link),
      onRefused: (reason) => this.tellHere('refused', reason)
    });
    this.ticker = window.setInterval(() => this.tick(), TICK_MS);
  }

  close(): void {
    window.clearInterval(this.ticker);
    this.socket.close();
    this.sound.silence();
  }

  beginMove(move: T.Move): boolean {
    this.fitNews = null;
    return this.socket.send({ type: 'move', move });
  }

  chooseDrill(id: string): boolean {
    return this.socket.send({ type: 'drill', id });
  }

  /** Every other message about drills. */
  askDrill(message: DrillAsk): boolean {
    return this.socket.send(message);
  }

  lookAhead(ms: number): boolean {
    return this.socket.send({ type: 'look_ahead', ms });
  }

  /** Take the control of drill and settings, or give it to the other. */
  askControl(hold: boolean): boolean {
    return this.socket.send({ type: 'control', hold });
  }

  putSaidAway(): void {
    this.saidRead = this.said?.id ?? this.saidRead;
  }

  pause(on: boolean): boolean {
    return this.socket.send({ type: 'pause', on });
  }

  chooseClub(club: string): boolean {
    return this.socket.send({ type: 'club', club });
  }

  tellLengths({ clubM, armM }: { readonly clubM: number | null; readonly armM: number | null }): boolean {
    return this.socket.send({ type: 'lengths', club_length_m: clubM, arm_length_m: armM });
  }

  /** Wind the recording. */
  wind(message: ReplayAsk): boolean {
    return this.socket.send(message);
  }

  /** Forearm and club sensor change places, which makes every fit move void. */
  swap(): boolean {
    this.fitNews = null;
    return this.socket.send({ type: 'swap' });
  }

  /** Tell something that only this device knows. */
  tellHere(code: string, text: string): void {
    this.onMessage({ type: 'problem', code, text });
  }

  dismissProblem(problem: T.ProblemMessage): void {
    this.problems = this.problems.filter((other) => other !== problem);
  }

  private onText(data: unknown): void {
    const decoded = decode(data);
    if (decoded.kind === 'message') {
      this.onMessage(decoded.message);
      this.hears(decoded.message);
    } else if (decoded.kind === 'unknown') this.unknown += 1;
    else {
      this.malformed += 1;
      console.warn(`A message from the server could not be read (${decoded.where}) and was left out.`);
    }
  }

  private onMessage(message: ServerMessage): void {
    switch (message.type) {
      case 'frame':
        return this.onFrame(message);
      case 'cue':
        if (this.link === 'open') this.sound.follow(message.sounding, message.error_deg);
        return;
      case 'signal':
        if (this.link === 'open') this.sound.short(message.kind);
        return;
      case 'phase':
        this.phase = message.phase;
        return;
      case 'rep':
        this.lastRep = message;
        this.tellRep(message);
        this.reps = newestOf([...this.reps, message]);
        return;
      case 'drill':
        if (this.hello) this.hello = { ...this.hello, drill: message.drill, course: message.course, second: message.second ?? null, look_ahead_ms: message.look_ahead_ms ?? 0, paused: message.paused ?? false };
        return;
      case 'drills':
        if (this.hello) this.hello = { ...this.hello, drills: message.drills };
        this.saved = message.saved ?? '';
        return;
      case 'drill_form':
        this.drillForm = message;
        return;
      case 'tried':
        this.tried = message;
        return;
      case 'sensors':
        this.sensors = message.sensors;
        this.tape = message.tape ?? null;
        return;
      case 'choosing':
        this.choosing = message.choosing;
        return;
      case 'fit':
        this.fitNews = message;
        this.fit = message.fit;
        return;
      case 'problem':
        this.problems = [...this.problems.filter((other) => other.code !== message.code), message].slice(-KEPT_PROBLEMS);
        return;
      case 'control':
        this.controlNews = message;
        if (this.hello) this.hello = { ...this.hello, control: message.holder };
        return;
      case 'rep_mark':
        if (this.hello) this.hello = { ...this.hello, marks: [...(this.hello.marks ?? []).filter((other) => other.rep !== message.rep), ...(message.mark === 'none' ? [] : [message])] };
        return;
      case 'note':
        if (this.hello) this.hello = { ...this.hello, notes: [...(this.hello.notes ?? []), message].slice(-KEPT_NOTES) };
        return;
      case 'said':
        if (this.hello) this.hello = { ...this.hello, said: [...(this.hello.said ?? []), message].slice(-KEPT_SAID) };
        return;
      case 'replay':
        return this.onReplay(message.replay);
      case 'replay_timeline':
        this.timeline = message;
        return;
      case 'board':
        return;
      case 'hello':
        return this.onHello(message);
      case 'end':
        return this.onEnd(message);
      case 'pong':
        this.socket.onPong(message.token);
        return;
    }
  }

  /** A rep without the cue, a test above all, ends without a word, too. */
  private tellRep(rep: T.RepMessage): void {
    if (!this.hello || rep.cued === false || rep.testing === true) return;
    // Of a whole swing the sound has told already.
    const chime = rep.verdict === 'in_band' && !isOfWholeSwing(rep.quantity ?? this.hello.drill.quantity);
    this.sound.tell(chime, verdictSentence(rep, this.hello.drill));
  }

  private onHello(hello: T.HelloMessage): void {
    this.hello = hello;
    this.onReplay(hello.replay ?? null);
    // A service that was started anew counts from one again.
    if ((hello.said?.at(-1)?.id ?? 0) < this.saidRead) this.saidRead = 0;
    this.fit = hello.fit;
    this.fitNews = null;
    this.sensors = hello.sensors;
    this.choosing = hello.choosing ?? null;
    this.reps = newestOf(hello.reps);
    this.lastRep = hello.reps.at(-1) ?? null;
    this.problems = [];
    this.addressPitchDeg = null;
    this.lastSeq = null;
    this.ended = false;
    // The frame in a hello may be old: it is neither shown nor sounded; a fresh one follows at once if there is one.
    this.blank();
    this.tick();
  }

  /** A recording sounds only as it was: at its own speed, and not on the way to another place. */
  private onReplay(replay: T.ReplayView | null): void {
    this.replay = replay;
    this.sound.mute(replay !== null && (!replay.playing || replay.seeking === true || replay.speed !== 1));
  }

  private onFrame(frame: T.FrameMessage): void {
    // First of all the ear: a lost cue message is made good by the next frame.
    this.sound.follow(frame.sounding, frame.cue_error_deg ?? frame.error_deg);
    if (this.lastSeq !== null && frame.seq > this.lastSeq + 1) this.skippedFrames += frame.seq - this.lastSeq - 1;
    this.lastSeq = frame.seq;
    this.socket.handledSeq = frame.seq;
    this.received += 1;
    this.frame = frame;
    this.frameMs = performance.now();
    this.ended = false;
    if (frame.phase === 'address' && frame.shaft_pitch_deg !== null) this.addressPitchDeg = frame.shaft_pitch_deg;
    if (this.phase !== frame.phase) this.phase = frame.phase;
    if (this.status !== 'live') this.tick();
  }

  private onEnd(end: T.EndMessage): void {
    this.addressPitchDeg = null;
    this.lastSeq = null;
    this.blank();
    if (end.again) {
      this.reps = [];
      if (this.hello) this.hello = { ...this.hello, marks: [], notes: [], said: [] };
      this.setStatus('waiting');
    } else this.ended = true;
    this.tick();
  }

  private onLink(link: Link): void {
    this.link = link;
    if (link !== 'open') {
      this.blank();
      this.sensors = [];
      this.choosing = null;
      this.tape = null;
    }
    this.tick();
  }

  /** No fresh value: nothing to show, nothing to sound. */
  private blank(): void {
    this.frame = null;
    this.frameMs = -Infinity;
    this.phase = null;
    this.sound.silence();
  }

  private tick(): void {
    const now = performance.now();
    const held = this.replay !== null && (!this.replay.playing || this.replay.seeking === true);
    if (this.frame && !held && now - this.frameMs > STALE_AFTER_MS) {
      this.blank();
      this.setStatus('stale');
    } else this.setStatus(this.statusNow());
    this.settleAdvice(now);
    this.settleLinks(now);
    this.sound.refresh();
    if (this.skipped !== this.skippedFrames) this.skipped = this.skippedFrames;
    const roundTrip = this.socket.roundTripMs;
    if (roundTrip !== this.roundTripMs) this.roundTripMs = roundTrip;
  }

  private statusNow(): Status {
    if (this.link === 'lost' || this.link === 'sent_away' || this.link === 'refused') return this.link;
    if (this.link === 'connecting' || !this.hello) return 'connecting';
    if (this.ended) return 'ended';
    if (this.frame) return 'live';
    return this.status === 'stale' || this.status === 'live' ? 'stale' : 'waiting';
  }

  private setStatus(status: Status): void {
    if (this.status !== status) this.status = status;
  }

  private settleAdvice(now: number): void {
    const said = this.frame?.advice ?? '';
    if (said !== this.saidAdvice) {
      this.saidAdvice = said;
      this.adviceSinceMs = now;
    }
    const shown = said === '' || now - this.adviceSinceMs >= ADVICE_AFTER_MS ? said : this.advice;
    if (shown !== this.advice) this.advice = shown;
  }

  /** Whoever chooses sensors sees beside each how it fares. */
  private settleLinks(now: number): void {
    const said = this.recorded || this.ended || this.choosing?.open ? '' : linkTrouble(this.sensors);
    if (said === '') this.linkDownMs = null;
    else this.linkDownMs ??= now;
    const shown = this.linkDownMs !== null && now - this.linkDownMs >= LINK_TROUBLE_AFTER_MS ? said : '';
    if (shown !== this.linkTrouble) this.linkTrouble = shown;
  }
}
