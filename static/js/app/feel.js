// What the hand and the ear get: a short tick for each tap, a longer call when a window opens or is about to shut.
// Browsers allow both only after a first tap. Nothing here is ever the only sign of anything.

let audio = null;

function context() {
  const Maker = globalThis.AudioContext ?? globalThis.webkitAudioContext;
  if (!Maker) return null;
  if (navigator.audioSession) navigator.audioSession.type = "playback";
  audio ??= new Maker();
  if (audio.state === "suspended") audio.resume().catch(() => {});
  return audio;
}

/**
 * Tones on any audio context, also an offline one, so that the sound itself can be measured.
 * @param {BaseAudioContext} on
 * @param {{at: number, hz: number, s: number, loud: number}[]} tones
 */
export function sound(on, tones) {
  for (const { at, hz, s, loud } of tones) {
    const from = on.currentTime + at;
    const gain = new GainNode(on, { gain: 0 });
    gain.gain.setValueAtTime(0, from);
    gain.gain.linearRampToValueAtTime(loud, from + 0.005);
    gain.gain.setValueAtTime(loud, from + s - 0.01);
    gain.gain.linearRampToValueAtTime(0, from + s);
    const tone = new OscillatorNode(on, { type: "triangle", frequency: hz });
    tone.connect(gain).connect(on.destination);
    tone.start(from);
    tone.stop(from + s);
  }
}

const buzz = (pattern) => navigator.vibrate?.(pattern);

function play(tones, pattern) {
  try {
    const on = context();
    if (on && on.state === "running") sound(on, tones);
    buzz(pattern);
  } catch {
    // no sound on this phone: the screen says it all the same
  }
}

/** A tap was taken. */
export const tick = () => play([{ at: 0, hz: 1400, s: 0.04, loud: 0.25 }], 25);

/** A tap was not taken: the disk refused. */
export const hush = () => play([{ at: 0, hz: 180, s: 0.25, loud: 0.5 }], [80, 60, 80]);

/** The three rising tones of a window that opens. */
export const OPENS = [
  { at: 0, hz: 660, s: 0.15, loud: 0.6 },
  { at: 0.2, hz: 880, s: 0.15, loud: 0.6 },
  { at: 0.4, hz: 1175, s: 0.3, loud: 0.6 },
];

/** The four beats of a window about to shut. */
export const SHUTS = [0, 0.25, 0.5, 0.75].map((at) => ({ at, hz: 980, s: 0.15, loud: 0.7 }));

/** A window opened. */
export const callOpens = () => play(OPENS, [200, 100, 200]);

/** A window is about to shut. */
export const callShuts = () => play(SHUTS, [120, 80, 120, 80, 120, 80, 120]);
