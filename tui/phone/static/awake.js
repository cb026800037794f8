// Keeps the screen on. The wake lock needs a secure context, which plain http on a local
// network is not; there a tiny film, made here and played for ever, does it on many
// phones. Neither is sure, so the page says what to do if the screen goes dark.

export class Awake {
  constructor() {
    this.how = "not asked";
    this.lock = null;
    this.film = null;
    document.addEventListener("visibilitychange", () => {
      if (document.visibilityState === "visible" && this.how !== "not asked") this.start();
    });
  }

  async start() {
    try {
      this.lock = await navigator.wakeLock.request("screen");
      this.how = "lock";
    } catch {
      this.how = (await this.play()) ? "film" : "none";
    }
    document.body.dataset.awake = this.how;
  }

  async play() {
    try {
      if (!this.film) this.film = await film();
      await this.film.play();
      return true;
    } catch {
      return false;
    }
  }
}

async function film() {
  const canvas = document.createElement("canvas");
  canvas.width = canvas.height = 16;
  const paint = canvas.getContext("2d");
  const recorder = new MediaRecorder(canvas.captureStream(10));
  const parts = [];
  recorder.ondataavailable = (event) => parts.push(event.data);
  const done = new Promise((stop) => (recorder.onstop = stop));
  recorder.start();
  for (let n = 0; n < 12; n += 1) {
    paint.fillStyle = n % 2 ? "#10151c" : "#11161d";
    paint.fillRect(0, 0, 16, 16);
    await new Promise((go) => setTimeout(go, 100));
  }
  recorder.stop();
  await done;
  const video = document.createElement("video");
  video.id = "film";
  video.loop = video.muted = video.playsInline = true;
  video.src = URL.createObjectURL(new Blob(parts, { type: recorder.mimeType }));
  document.querySelector("header").append(video);
  return video;
}
