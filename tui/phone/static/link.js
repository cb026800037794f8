// The way to the laptop: the stream, how old a message is, marks that count once.

const PATIENCE_MS = 2000; // a message older than this is not live
const STREAM_MS = 3000; // a stream silent for so long is opened anew
const ASK_MS = 1500;
const SLEPT_MS = 1500; // a pause of the page's own timer: the phone was asleep
const REFRESH_MS = 10000;
const STEADY_MS = 2000; // so long all must have been of good age before GO comes back
const AGAIN_MS = 30000; // lost again so soon after, it must hold twice as long,
const MOST_STEADY_MS = 16000; // and no longer than this
const PROMPT_MS = 2500; // a mark without an answer for so long is said to be open

export const clockMs = () => performance.now();

async function ask(path, options, limitMs) {
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), limitMs);
  try {
    return await fetch(path, { ...options, cache: "no-store", redirect: "error",
      signal: stop.signal });
  } finally {
    clearTimeout(timer);
  }
}

const post = (path, body, limitMs) => ask(path, { method: "POST",
  headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) }, limitMs);

export class Link {
  constructor() {
    this.message = null;
    this.news = () => {};
    this.paired = null; // null: not known yet
    this.pace = null; // { askedMs, answeredMs, serverMs }: what the laptop's clock said
    this.asking = false;
    this.askedMs = -Infinity;
    this.heardMs = -Infinity;
    this.openedMs = -Infinity;
    this.tickedMs = clockMs();
    this.agedMs = clockMs(); // when it last was not all of good age
    this.held = false; // whether it has been steady since
    this.lostMs = -Infinity;
    this.steadyMs = STEADY_MS;
    this.source = null;
  }

  async pair(token) {
    try {
      const answer = await post("/pair", { token }, 4000);
      this.paired = answer.ok;
      return answer.ok;
    } catch {
      return false;
    }
  }

  // Called ten times a second: keeps the stream open and the clocks compared.
  tick() {
    const nowMs = clockMs();
    if (nowMs - this.tickedMs > SLEPT_MS) this.pace = null;
    this.tickedMs = nowMs;
    if (this.paired === false) return;
    const wantedMs = this.pace ? REFRESH_MS : 1000;
    if (!this.asking && nowMs - this.askedMs > wantedMs) this.compare();
    const silentMs = nowMs - Math.max(this.heardMs, this.openedMs);
    if (this.paired && silentMs > STREAM_MS) this.open();
  }

  // The laptop read its clock somewhere between asking and answer. Taking the moment of
  // asking for it makes every message look older than it is, never younger.
  async compare() {
    this.asking = true;
    const askedMs = (this.askedMs = clockMs());
    try {
      const answer = await ask("/time", {}, ASK_MS);
      if (answer.status === 403) {
        this.lose();
      } else if (answer.ok) {
        const serverMs = (await answer.json()).now_s * 1000;
        this.pace = { askedMs, answeredMs: clockMs(), serverMs };
        if (!this.paired) { this.paired = true; this.open(); }
      }
    } catch { /* no contact: the age of the last message says so */ }
    this.asking = false;
  }

  lose() {
    this.paired = false;
    this.message = null;
    if (this.source) this.source.close();
    this.source = null;
  }

  open() {
    if (this.source) this.source.close();
    this.openedMs = clockMs();
    const source = (this.source = new EventSource("/stream"));
    source.onmessage = (event) => {
      if (source !== this.source) return;
      this.heardMs = clockMs();
      this.steady(); // as it was until now
      this.message = JSON.parse(event.data);
      this.news(this.message);
    };
    source.onerror = () => {
      if (source.readyState === EventSource.CLOSED) this.askedMs = -Infinity;
    };
  }

  // How old the message is at most, in seconds; Infinity if that is not known.
  ageS() {
    if (!this.message || !this.pace) return Infinity;
    const madeMs = this.message.sent_s * 1000 - this.pace.serverMs + this.pace.askedMs;
    return Math.max(0, clockMs() - madeMs) / 1000;
  }

  live() {
    const m = this.message;
    return Boolean(m && m.held && this.ageS() * 1000 <= PATIENCE_MS);
  }

  // The same, and the reading in it with what the way took added is none too old.
  fresh() {
    const m = this.message;
    return this.live() && (m.age_s === null || m.age_s + this.ageS() <= m.stale_s);
  }

  // Of good age for so long in one piece that GO will not flap. Ask it often.
  steady() {
    const nowMs = clockMs();
    if (this.fresh()) {
      this.held = this.held || nowMs - this.agedMs >= this.steadyMs;
      return this.held;
    }
    if (this.held) {
      const again = nowMs - this.lostMs < AGAIN_MS;
      this.steadyMs = again ? Math.min(2 * this.steadyMs, MOST_STEADY_MS) : STEADY_MS;
      this.lostMs = nowMs;
    }
    this.agedMs = nowMs;
    return (this.held = false);
  }

  // Asks with the same nonce, which counts once, until the laptop has said what it has:
  // where an answer was lost, only the laptop knows whether the mark was taken.
  async mark(kind, open) {
    if (!this.pace) return "no contact";
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    const nonce = [...bytes].map((b) => b.toString(16).padStart(2, "0")).join("");
    const middleMs = (this.pace.askedMs + this.pace.answeredMs) / 2;
    const at_s = (clockMs() - middleMs + this.pace.serverMs) / 1000;
    const pressedMs = clockMs();
    for (let tries = 1; ; tries += 1) {
      try {
        const answer = await post("/mark", { mark: kind, nonce, at_s }, 900);
        if ([200, 409, 503].includes(answer.status)) return (await answer.json()).outcome;
        if (answer.status === 403) {
          this.lose();
          return tries === 1 ? "refused" : "unpaired";
        }
        if (answer.status !== 429) return "refused";
      } catch { /* no contact: it may be there, or not */ }
      const late = clockMs() - pressedMs > PROMPT_MS;
      if (late) open();
      await new Promise((go) => setTimeout(go, late ? 1000 : 150));
    }
  }
}
