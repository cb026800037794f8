// The page: shows what the laptop says, and only while it is sure that it is live.

import { Awake } from "./awake.js";
import { Link } from "./link.js";
import { Sound } from "./sound.js";

const names = {}; // what stands on each button, as the laptop's table of inputs has it
const TOLD = { taken: "taken", "not-now": "not taken: not in this phase",
  "too-late": "not taken: too late", "no-monitor": "not taken: the laptop's program is silent",
  "no contact": "not taken: no contact with the laptop", refused: "not taken: refused",
  open: "no answer yet, not known if taken; asking again",
  unpaired: "not known if taken: look at the laptop" };
const SETTLE_MS = 1200; // a big button that has just changed its meaning is dead so long
const BOUNCE_MS = 120; // one press of a thumb is not two

const link = new Link(), sound = new Sound(), awake = new Awake();
const $ = (id) => document.getElementById(id);
const put = (node, text) => { if (node.textContent !== text) node.textContent = text; };

let started = false, calledNumber = null, lostMs = 0;
let wasLive = false, wasGo = false, alarmed = false;
let mainKind = null, changedMs = -Infinity, pressedMs = -Infinity, others = "";

function show() {
  const m = link.message, live = link.live(), fresh = link.fresh();
  const steady = link.steady(), go = steady && fresh && m.go && !m.shut;
  const came = live ? m.result : ""; // the plug is in: no GO over a finished job
  document.body.className = came ? "came"
    : go ? (m.hurry ? "go hurry" : "go") : live ? "stop" : "lost";
  put($("word"), came || (go ? "GO" : live && m.shut ? "CLOSE" : "NO-GO"));
  put($("source"), m ? m.source : "");
  put($("age"), live && m.age_s !== null ? `read ${(m.age_s + link.ageS()).toFixed(1)} s ago` : "");
  lines(m, live, fresh, steady);
  figures(m, fresh);
  buttons(m, live);
  contact(live, steady, go, Boolean(m && m.go));
}

function lines(m, live, fresh, steady) {
  if (!live) {
    const held = m && !m.held && link.ageS() < 30;
    put($("do"), !started && !m ? "Not started yet" : link.paired === false
      ? "Not paired with the laptop"
      : held ? m.headline : "No contact with the laptop");
    put($("why"), link.paired === false
      ? "Scan the code on the laptop's screen: key p there."
      : !started && !m ? "The touch below connects it." : held ? m.remedy : "Nothing here is live. It connects again by itself.");
    return;
  }
  if (fresh && m.go && !m.shut && !steady) {
    put($("do"), "Contact is back: not GO until it has held");
    put($("why"), "A moment. What you have done can be marked.");
    return;
  }
  put($("do"), fresh || m.result ? m.do || m.headline : "The last fluid temperature is too old to trust");
  put($("why"), m.more > 0 && !m.go ? `${m.why} (and ${m.more} more)` : m.why);
}

function figures(m, fresh) {
  put($("number"), fresh ? m.number : "--.-");
  put($("unit"), m ? m.unit : "");
  put($("trend"), fresh ? m.last_seen || `${m.spread} ${m.trend}` : "not live");
  for (const name of ["opens", "shuts"]) {
    const [big, unit, line] = $(name).children;
    const told = fresh ? m[name] : { label: name, big: "", big_unit: "", line: "" };
    put(big, told.big || (told.label === "open now" ? "open" : "--"));
    put(unit, told.big_unit);
    put(line, told.line || `${name}: not known`);
  }
}

function buttons(m, live) {
  Object.assign(names, m ? m.names : null);
  const main = live ? m.main : null;
  const nowMs = performance.now();
  if (main !== mainKind) {
    if (mainKind !== null && main !== null) changedMs = nowMs;
    mainKind = main;
  }
  const settling = nowMs - changedMs < SETTLE_MS;
  $("main").disabled = main === null || settling;
  const count = main === "drip" && m.count ? ` ${m.count}` : "";
  put($("main"), main === null ? "nothing to mark now" : names[main] + count);
  put($("standing"), live && m.standing !== m.why ? m.standing : "");
  const wanted = live ? [...m.others, ...(m.undo ? ["undo"] : [])] : [];
  if (wanted.join() === others) return;
  others = wanted.join();
  $("others").replaceChildren(...wanted.map(button));
}

function button(kind) {
  const node = document.createElement("button");
  node.type = "button";
  node.textContent = names[kind];
  node.dataset.mark = kind;
  if (kind === "undo") node.className = "back";
  if (kind === "closed") node.className = "closing";
  listen(node, () => kind);
  return node;
}

// At the touch, not at its end; a click without a touch comes from a keyboard or a switch.
// Where the page is too tall for the screen a touch may be meant to scroll: there only
// its end on the button, as the browser sees it, is a press.
function listen(node, kind) {
  let pressed = false;
  node.addEventListener("pointerdown", (event) => {
    pressed = !scrolls();
    if (pressed) press(event, node, kind());
  });
  node.addEventListener("click", (event) => {
    if (event.detail === 0 || !pressed) press(event, node, kind());
  });
}

function scrolls() {
  return document.documentElement.scrollHeight > window.innerHeight + 1;
}

async function press(event, node, kind) {
  event.preventDefault();
  const nowMs = performance.now();
  if (kind === null || node.disabled || nowMs - pressedMs < BOUNCE_MS) return;
  pressedMs = nowMs;
  node.classList.add("held");
  setTimeout(() => node.classList.remove("held"), 150);
  sound.play("tick");
  const said = (how) => put($("said"), `${names[kind]}: ${TOLD[how] || how}`);
  const outcome = await link.mark(kind, () => said("open"));
  sound.play(outcome === "taken" ? "taken" : "refused");
  said(outcome);
}

function call(m) {
  if (!m.call || m.call.number === calledNumber) return;
  const first = calledNumber === null;
  calledNumber = m.call.number;
  if (first || !link.live()) return; // what was called before this page came is past
  if (m.call.bell) sound.play(m.call.bell);
  sound.say(m.call.text, Boolean(m.call.bell));
}

// Calls trouble once when contact is lost, or a GO that the laptop has not taken back;
// again only after all has been steady, or every 15 s while there is no contact.
function contact(live, steady, go, laptopGo) {
  if (!started) return;
  const nowMs = performance.now();
  const lost = (wasLive && !live) || (wasGo && !go && laptopGo);
  if (steady) alarmed = false;
  if (lost && !alarmed) {
    alarmed = true;
    lostMs = nowMs;
    sound.play("trouble");
    sound.say(live ? "The reading is too old. No go." : "No contact with the laptop. No go.", true);
  } else if (!live && nowMs - lostMs > 15000) {
    lostMs = nowMs;
    sound.play("trouble");
  }
  wasLive = live;
  wasGo = go;
}

async function start() {
  sound.start();
  awake.start();
  const token = location.pathname.slice(1);
  if (token) {
    if (!(await link.pair(token))) {
      link.paired = link.paired ?? false;
      put($("hint"), "Not paired: the code was used or is old. Scan the one that shows now (key p).");
      return;
    }
    history.replaceState(null, "", "/");
    link.compare();
  }
  started = true;
  lostMs = performance.now();
  $("start").hidden = true;
}

link.news = (m) => {
  document.body.dataset.sent = m.sent_s;
  if (calledNumber === null && !m.call) calledNumber = 0; show(); call(m); };
$("touch").addEventListener("click", start);
listen($("main"), () => mainKind);
$("main").addEventListener("contextmenu", (event) => event.preventDefault());
$("mute").addEventListener("click", () => {
  sound.mute(!sound.muted);
  $("mute").setAttribute("aria-pressed", String(sound.muted));
  put($("mute"), sound.muted ? "Sound off" : "Sound on");
});
if (!window.isSecureContext) {
  put($("hint"), "Set the phone's screen time-out to its longest: over http a page cannot be sure to keep it on.");
}
if (location.pathname.length > 1) link.paired = null;
setInterval(() => { if (started || location.pathname === "/") link.tick(); show(); }, 100);
show();
