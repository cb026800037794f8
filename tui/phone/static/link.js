// The way to the laptop: the stream, how old a message is, marks that count once.

const PATIENCE_MS = 2000; // a message older than this is not live
const STREAM_MS = 3000; // a stream silent for so long is opened anew
const ASK_MS = 1500;
const SLEPT_MS = 1500; // a pause of the page's own timer: the phone was asleep
const REFRESH_MS = 10000;

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

  async mark(kind) {
    if (!this.pace) return "no contact";
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    const nonce = [...bytes].map((b) => b.toString(16).padStart(2, "0")).join("");
    const middleMs = (this.pace.askedMs + this.pace.answeredMs) / 2;
    const at_s = (clockMs() - middleMs + this.pace.serverMs) / 1000;
    const untilMs = clockMs() + 2500;
    do { // a repeat carries the same nonce: it counts once
      try {
        const answer = await post("/mark", { mark: kind, nonce, at_s }, 900);
        if (answer.status === 403) this.lose();
        if (answer.ok || answer.status === 409) return (await answer.json()).outcome;
        if (answer.status !== 503) return "refused";
      } catch { await new Promise((go) => setTimeout(go, 150)); }
    } while (clockMs() < untilMs);
    return "no contact";
  }
}
