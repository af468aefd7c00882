// One high tone: taken. Two low ones: stop, look. A soft tick: it is on the server.

import { state } from "./state.js";

// A key or a finger lets the browser sound; called at every one of them.
export function wake() {
  if (!window.AudioContext) return;
  state.audio ??= new AudioContext();
  if (state.audio.state === "suspended") state.audio.resume().catch(() => {});
}

/** @param {Tone | "tick"} tone */
export function sound(tone) {
  if (tone === "taken") play(1760, 0, 0.08);
  if (tone === "neutral") play(880, 0, 0.03, 0.06);
  if (tone === "tick") play(2600, 0, 0.012, 0.04);
  if (tone === "stop") {
    play(220, 0, 0.11);
    play(196, 0.14, 0.11);
    const allowed = navigator.userActivation?.hasBeenActive;
    if (navigator.vibrate && allowed) navigator.vibrate([110, 40, 110]);
  }
}

/**
 * @param {number} frequency
 * @param {number} after
 * @param {number} seconds
 */
function play(frequency, after, seconds, loudness = 0.25) {
  const context = state.audio;
  if (!context) return;
  const start = context.currentTime + after;
  const source = context.createOscillator();
  const level = context.createGain();
  source.type = "square";
  source.frequency.value = frequency;
  level.gain.setValueAtTime(loudness, start);
  level.gain.setTargetAtTime(0, start + seconds * 0.8, 0.01);
  source.connect(level).connect(context.destination);
  source.start(start);
  source.stop(start + seconds + 0.05);
}
