// Sound, speech, vibration: each call has its own. Started by the first touch.

// [frequency in Hz, start in s, length in s, wave]
const SOUNDS = {
  "get-ready": [[440, 0, 0.3, "sine"], [554, 0.45, 0.45, "sine"]],
  "open": [[660, 0, 0.16, "triangle"], [880, 0.2, 0.16, "triangle"],
    [1175, 0.4, 0.5, "triangle"]],
  "close": [0, 0.5, 1.0, 1.5].flatMap((s) => [[988, s, 0.18, "square"],
    [698, s + 0.22, 0.18, "square"]]),
  "trouble": [0, 0.7, 1.4].map((s) => [165, s, 0.5, "sawtooth"]),
  "tick": [[1320, 0, 0.04, "sine"]],
  "taken": [[880, 0, 0.06, "sine"], [1320, 0.07, 0.08, "sine"]],
  "refused": [[220, 0, 0.25, "sawtooth"]],
};
const SHAKES = {
  "get-ready": [150, 150, 150],
  "open": [80, 60, 80, 60, 500],
  "close": [300, 100, 300, 100, 300, 100, 300],
  "trouble": [900, 200, 900],
  "tick": [],
  "taken": [40],
  "refused": [120, 60, 120],
};

export class Sound {
  constructor() {
    this.muted = false;
    this.context = null;
  }

  // Must be called from a touch: browsers allow sound only then.
  start() {
    const Kind = window.AudioContext || window.webkitAudioContext;
    if (Kind && !this.context) this.context = new Kind();
    if (this.context) this.context.resume();
    if (window.speechSynthesis) speechSynthesis.speak(new SpeechSynthesisUtterance(""));
  }

  play(name) {
    document.body.dataset.sounded = name;
    if (this.muted) return;
    if (navigator.vibrate && SHAKES[name].length) navigator.vibrate(SHAKES[name]);
    if (!this.context || this.context.state !== "running") return;
    for (const [hz, at, length, wave] of SOUNDS[name]) this.tone(hz, at, length, wave);
  }

  tone(hz, at, length, wave) {
    const from = this.context.currentTime + 0.02 + at;
    const tone = this.context.createOscillator();
    const level = this.context.createGain();
    tone.type = wave;
    tone.frequency.value = hz;
    level.gain.setValueAtTime(0, from);
    level.gain.linearRampToValueAtTime(0.5, from + 0.01);
    level.gain.setValueAtTime(0.5, from + length - 0.02);
    level.gain.linearRampToValueAtTime(0, from + length);
    tone.connect(level).connect(this.context.destination);
    tone.start(from);
    tone.stop(from + length);
  }

  say(text, urgent) {
    document.body.dataset.spoken = text;
    if (this.muted || !window.speechSynthesis) return;
    if (urgent) speechSynthesis.cancel();
    else if (speechSynthesis.pending || speechSynthesis.speaking) return;
    const words = new SpeechSynthesisUtterance(text);
    words.lang = "en";
    speechSynthesis.speak(words);
  }

  mute(muted) {
    this.muted = muted;
    if (!muted) return;
    if (window.speechSynthesis) speechSynthesis.cancel();
    if (navigator.vibrate) navigator.vibrate(0);
  }
}
