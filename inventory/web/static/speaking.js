// What the bench says: a tone, a sentence, and two tins drawn side by side.

import { at, make } from "./elements.js";
import { sound } from "./tones.js";
import { offerTrueSize } from "./truesize.js";

const MARKS = { taken: "✓", stop: "✗✗", neutral: "·" };
const WORDS = { taken: "Read.", stop: "Stop.", neutral: "" };
// Only these changed something; whatever else is taken was read, no more.
/** @type {Record<string, string>} */
const CHANGED = { committed: "Moved.", undone: "Moved.", noted: "Noted." };
// A sentence of more characters is set smaller.
const LONG = 90;

/**
 * @param {Tone} tone
 * @param {string} sentence
 * @param {boolean} [loud]
 * @param {Record<string, any>} [data]
 */
export function say(tone, sentence, loud = false, data = {}) {
  write(tone, sentence, loud, data.kind);
  at("pair").replaceChildren();
  if (data.asked) drawPair(data.this, data.asked);
  sound(loud ? "stop" : tone);
}

/**
 * The words alone: what was heard once is not sounded twice.
 * @param {Tone} tone
 * @param {string} sentence
 * @param {boolean} [loud]
 * @param {string} [kind]
 */
export function write(tone, sentence, loud = false, kind = "") {
  const flash = at("flash");
  flash.className = `flash ${tone}${sentence.length > LONG ? " long" : ""}`;
  void flash.offsetWidth;
  flash.classList.add("hit");
  at("flash-mark").textContent = MARKS[tone];
  at("flash-tone").textContent = CHANGED[kind] ?? WORDS[tone];
  at("flash-words").textContent = sentence.replace(/^STOP\. /, "");
  at("loud").hidden = !loud;
  at("loud").classList.toggle("news", tone === "taken");
  at("loud-words").textContent = loud ? sentence : "";
}

export function quiet() {
  at("loud").hidden = true;
}

/**
 * The tin in the hand and the one that is asked for, side by side at one scale.
 * @param {number} item
 * @param {number} asked
 */
async function drawPair(item, asked) {
  try {
    const response = await fetch(`/bench/pair/${item}/${asked}/`);
    if (!response.ok) return;
    at("pair").innerHTML = await response.text();
    const sides = make("p", "", "sides");
    sides.append(make("span", "in your hand"), make("span", "asked for"));
    at("pair").querySelector("figure")?.prepend(sides);
    offerTrueSize(at("pair"));
  } catch {
    // Without a connection the words must do.
  }
}
