// The board on the wall: looks every few seconds whether anything has changed and sounds when a window is about to shut.
// Without this module the page refreshes itself; nothing else depends on it.

const EVERY_MS = 10_000;
const SLOW_MS = 60_000;

const board = document.getElementById("board");
const said = document.getElementById("said");
const button = document.getElementById("sound");
const wall = document.body.classList.contains("wall");

let audio = null;
const told = new Set(JSON.parse(sessionStorage.getItem("told") ?? "[]"));

/**
 * Two tones, the second higher, at a volume that the computer's own control sets.
 * @param {AudioContext} context a context that a tap has started
 */
export function chime(context) {
  [660, 880].forEach((pitch, n) => {
    const tone = context.createOscillator();
    const level = context.createGain();
    const start = context.currentTime + n * 0.35;
    tone.frequency.value = pitch;
    level.gain.setValueAtTime(0.0001, start);
    level.gain.exponentialRampToValueAtTime(0.6, start + 0.03);
    level.gain.exponentialRampToValueAtTime(0.0001, start + 0.3);
    tone.connect(level).connect(context.destination);
    tone.start(start);
    tone.stop(start + 0.32);
  });
}

/**
 * Which of the windows have not been announced yet. Each is announced twice: when it comes in sight, and in its last
 * five minutes.
 * @param {{job: string, at: number, words: string}[]} windows those that shut soon
 * @param {number} now shop time, ms
 * @param {Set<string>} known what was announced before; grows
 * @returns {string[]} the sentences to say now
 */
export function fresh(windows, now, known) {
  const found = [];
  for (const one of windows) {
    const mark = `${one.job} ${one.at} ${one.at - now < 300_000 ? "last" : "first"}`;
    if (!known.has(mark)) {
      known.add(mark);
      found.push(one.words);
    }
  }
  return found;
}

async function look() {
  let news;
  try {
    const answer = await fetch(board.dataset.json, { headers: { Accept: "application/json" }, cache: "no-store" });
    if (!answer.ok || !(answer.headers.get("Content-Type") ?? "").includes("json")) throw new Error(answer.status);
    news = await answer.json();
  } catch {
    said.textContent = "The shop's computer does not answer. What stands here may be old.";
    return;
  }
  const words = fresh(news.windows, news.now, told);
  sessionStorage.setItem("told", JSON.stringify([...told].slice(-200)));
  if (words.length && audio) chime(audio);
  if (words.length || wall) said.textContent = news.windows.map((one) => one.words).join(" · ");
  if (news.mark !== board.dataset.mark && !audio) location.reload();
  else if (news.mark !== board.dataset.mark) refresh(news.mark);
}

/** With the sound on the page must stay, or the sound would be off again: only what has changed is taken over. */
function refresh(mark) {
  const ask = new XMLHttpRequest();
  ask.open("GET", location.href);
  ask.responseType = "document";
  ask.addEventListener("load", () => {
    if (ask.status !== 200 || !ask.response) return;
    for (const part of [".sentences", ".ruler-box", ".wall-head"]) {
      const old = document.querySelector(part);
      const now = ask.response.querySelector(part);
      if (old && now) old.replaceWith(document.adoptNode(now));
    }
    board.dataset.mark = mark;
  });
  ask.send();
}

if (wall && button) {
  button.hidden = false;
  button.addEventListener("click", () => {
    audio = new AudioContext();
    chime(audio);
    button.textContent = "The sound is on";
    button.disabled = true;
  });
}

if (board) setInterval(() => { if (!document.hidden || wall) look(); }, wall ? EVERY_MS : SLOW_MS);
