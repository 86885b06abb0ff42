/** Text from the socket -> a message that can be trusted, or why not. Never throws. */
import { fault, type Definitions } from './check';
import definitions from './schema.gen.json';
import type * as T from './types.gen';

export type ServerMessage =
  | T.HelloMessage
  | T.FrameMessage
  | T.PhaseMessage
  | T.CueMessage
  | T.SignalMessage
  | T.RepMessage
  | T.DrillMessage
  | T.DrillsMessage
  | T.DrillFormMessage
  | T.TriedMessage
  | T.SensorsMessage
  | T.ChoosingMessage
  | T.FitMessage
  | T.ProblemMessage
  | T.EndMessage
  | T.ControlMessage
  | T.RepMarkMessage
  | T.NoteMessage
  | T.SaidMessage
  | T.ReplayMessage
  | T.ReplayTimelineMessage
  | T.BoardMessage
  | T.PongMessage;
export type ClientMessage =
  | T.AckMessage
  | T.PingMessage
  | T.MoveMessage
  | T.ChooseDrillMessage
  | T.DrillTextMessage
  | T.BandMessage
  | T.SecondMessage
  | T.EditDrillMessage
  | T.TryDrillMessage
  | T.SaveDrillMessage
  | T.LookAheadMessage
  | T.PauseMessage
  | T.ClubMessage
  | T.LengthsMessage
  | T.ChooseMessage
  | T.PlaceMessage
  | T.SwapMessage
  | T.BlinkMessage
  | T.ControlAskMessage
  | T.MarkRepMessage
  | T.WriteNoteMessage
  | T.SayMessage
  | ReplayAsk;
/** All that is asked of a recording that plays. */
export type ReplayAsk = T.ReplayPlayMessage | T.ReplaySpeedMessage | T.ReplaySeekMessage | T.ReplaySkipMessage | T.ReplayStepMessage | T.ReplayRepMessage | T.ReplayLoopMessage;

export type Decoded =
  | { kind: 'message'; message: ServerMessage }
  | { kind: 'unknown'; type: string }
  | { kind: 'malformed'; where: string };

const READ: Readonly<Record<ServerMessage['type'], keyof typeof definitions>> = {
  hello: 'HelloMessage',
  frame: 'FrameMessage',
  phase: 'PhaseMessage',
  cue: 'CueMessage',
  signal: 'SignalMessage',
  rep: 'RepMessage',
  drill: 'DrillMessage',
  drills: 'DrillsMessage',
  drill_form: 'DrillFormMessage',
  tried: 'TriedMessage',
  sensors: 'SensorsMessage',
  choosing: 'ChoosingMessage',
  fit: 'FitMessage',
  problem: 'ProblemMessage',
  end: 'EndMessage',
  control: 'ControlMessage',
  rep_mark: 'RepMarkMessage',
  note: 'NoteMessage',
  said: 'SaidMessage',
  replay: 'ReplayMessage',
  replay_timeline: 'ReplayTimelineMessage',
  board: 'BoardMessage',
  pong: 'PongMessage'
};

export function decode(data: unknown): Decoded {
  if (typeof data !== 'string') return { kind: 'malformed', where: 'not text' };
  let value: unknown;
  try {
    value = JSON.parse(data);
  } catch {
    return { kind: 'malformed', where: 'not JSON' };
  }
  const type = (value as { type?: unknown } | null)?.type;
  if (typeof type !== 'string') return { kind: 'malformed', where: '.type' };
  if (!Object.hasOwn(READ, type)) return { kind: 'unknown', type };
  const name = READ[type as ServerMessage['type']];
  const where = fault(value, definitions[name], definitions as Definitions);
  return where === null ? { kind: 'message', message: value as ServerMessage } : { kind: 'malformed', where };
}
