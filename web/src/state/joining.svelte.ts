/** The links and the guests, as the service tells them; asked for again and again while the page that shows them is open. */
export type GuestRole = 'student' | 'coach' | 'viewer';
export type Trouble = 'none' | 'away' | 'not_allowed' | 'not_done';

export interface QrView {
  readonly size: number;
  readonly path: string;
}
export interface LinkView {
  readonly role: GuestRole;
  readonly place: string;
  readonly url: string;
  readonly qr: QrView;
}
/** Where a device comes to trust this computer. */
export interface TrustView {
  readonly url: string;
  readonly qr: QrView;
  readonly fingerprint: string;
}
export interface VisitView {
  readonly id: string;
  readonly role: GuestRole;
  readonly place: string;
  readonly name: string;
  readonly address: string;
  readonly joined_s_ago: number;
  readonly here: boolean;
}
export interface JoiningView {
  readonly open: boolean;
  readonly secure: boolean;
  readonly addresses: readonly { readonly address: string; readonly adapter: string }[];
  readonly address: string | null;
  /** Null where nothing is encrypted. */
  readonly trust: TrustView | null;
  readonly links: readonly LinkView[];
  readonly guests: readonly VisitView[];
}

const AGAIN_MS = 2_000;

export class Joining {
  view = $state.raw<JoiningView | null>(null);
  trouble = $state<Trouble>('none');
  private address = '';
  private readonly ticker = window.setInterval(() => void this.load(), AGAIN_MS);

  constructor() {
    void this.load();
  }

  close(): void {
    window.clearInterval(this.ticker);
  }

  /** Write the links with another of the computer's addresses. */
  useAddress(address: string): void {
    this.address = address;
    void this.load();
  }

  renew(role: GuestRole): Promise<void> {
    return this.ask('renew', { role });
  }

  sendAway(guest: string): Promise<void> {
    return this.ask('send-away', { guest });
  }

  private async load(): Promise<void> {
    const asked = this.address;
    const answer = await fetched(`api/joining${asked ? `?address=${encodeURIComponent(asked)}` : ''}`);
    if (asked !== this.address) return;
    if (answer?.ok) this.view = (await answer.json()) as JoiningView;
    else this.view = null;
    if (answer?.ok && this.trouble === 'not_done') return;
    this.trouble = answer === null ? 'away' : answer.status === 403 ? 'not_allowed' : answer.ok ? 'none' : 'away';
  }

  private async ask(what: string, body: object): Promise<void> {
    const answer = await fetched(`api/joining/${what}`, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) });
    this.trouble = answer?.ok ? 'none' : 'not_done';
    await this.load();
  }
}

/** What this page may do: what the link that let it in said, else what it asks to be. */
export async function roleHere(asked: string): Promise<string> {
  const answer = await fetched(`api/guest?as=${encodeURIComponent(asked)}`);
  return answer?.ok ? ((await answer.json()) as { role: GuestRole }).role : asked;
}

/** Whether this page may let others in; false where that cannot be known. */
export async function mayInvite(): Promise<boolean> {
  const answer = await fetched('api/guest');
  if (!answer?.ok) return false;
  const guest = (await answer.json()) as { may_invite: boolean };
  return guest.may_invite;
}

/** Null when nobody answers. */
async function fetched(path: string, options: RequestInit = {}): Promise<Response | null> {
  try {
    return await fetch(path, { cache: 'no-store', ...options });
  } catch {
    return null;
  }
}
