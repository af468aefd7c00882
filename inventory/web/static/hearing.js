// What the bench hears: a scanner that types, fingers on keys, fingers on the glass.

import { about, at, input } from "./elements.js";
import { listen } from "./keys.js";
import { quiet, say } from "./speaking.js";
import { state } from "./state.js";
import { wake } from "./tones.js";
import { Wedge } from "./wedge.js";

const LONGEST = 512;
// Enter alone confirms; but not the second Enter that some scanners send.
const AFTER_SCAN_MS = 800;
const DOUBLE_MS = 500;
const DIGITS = 7;

/** @typedef {(code: string, heard?: number) => void} Take */

/** @param {Take} take */
export function hear(take) {
  const field = input("scan");
  hearKeys(field, take);
  hearFingers(field, take);
  field.addEventListener("blur", () => {
    field.inputMode = field.inputMode === "text" && document.hidden ? "none" : field.inputMode;
    setTimeout(() => {
      if (document.activeElement === document.body) field.focus({ preventScroll: true });
    }, 50);
  });
}

/** @type {(field: HTMLInputElement, take: Take) => void} */
function hearKeys(field, take) {
  const wedge = new Wedge();

  function emptied() {
    const text = field.value;
    const partial = wedge.inDoubt && wedge.text === text;
    wedge.clear();
    field.value = "";
    return { text, partial };
  }

  function ended(heard = performance.now()) {
    const { text, partial } = emptied();
    const now = Date.now();
    if (!text && now - state.lastScanAt <= AFTER_SCAN_MS) return;
    if (partial) {
      say("stop", `Partial scan ('${text.slice(0, 20)}'): repeat it. Nothing was taken.`, true);
      return;
    }
    state.lastScanAt = now;
    take(text || (at("bench").dataset.enter ?? ""), heard);
  }

  listen(wedge, {
    elsewhere: "a, button, summary, input:not(#scan), select",
    awake: wake,
    garbled: () => say("stop", "Switch the input method off: it garbles the scanner."),
    ended,
    sign(sign, now) {
      if (field.value.length >= LONGEST) return;
      quiet();
      wedge.add(sign, now);
      field.value += sign;
    },
    rub() {
      if (!field.value) return false;
      field.value = field.value.slice(0, -1);
      wedge.clear();
      return true;
    },
    forget() {
      emptied();
      quiet();
    },
  });
  at("scan-form").addEventListener("submit", (event) => {
    event.preventDefault();
    if (field.value) ended();
  });
}

/** @type {(field: HTMLInputElement, take: Take) => void} */
function hearFingers(field, take) {
  const root = at("bench");
  root.addEventListener("pointerdown", wake);
  root.addEventListener("click", (event) => {
    const pressed = about(event, "button");
    if (!pressed) return;
    const { code, digit } = pressed.dataset;
    if (digit) key(state.keyed + digit);
    if (pressed.id === "pad-back") key(state.keyed.slice(0, -1));
    const once = !code || !isDouble(pressed);
    // Whoever keys a number and confirms means that number.
    const means = pressed.id === "pad-set" || code === root.dataset.enter;
    if (state.keyed && once && means) take(state.keyed);
    if (code && once) take(code);
    if (pressed.id === "other-number") at("pending").classList.add("other");
    if (pressed.id === "type") {
      field.inputMode = "text";
      field.blur();
    }
    field.focus({ preventScroll: true });
  });
  at("loud-close").addEventListener("click", quiet);
}

/**
 * A glove bounces: the second press of one button at once is none.
 * @param {Element} button
 */
function isDouble(button) {
  const now = Date.now();
  const double = state.lastPress.button === button && now - state.lastPress.at < DOUBLE_MS;
  state.lastPress = { button, at: now };
  return double;
}

/** @param {string} text */
function key(text) {
  quiet();
  showKeyed(text.replace(/^0+(?=\d)/, "").slice(0, DIGITS));
}

/** A number is meant for what was asked when it was keyed, and for nothing after it. */
export function forgetKeyed() {
  showKeyed("");
}

/** @param {string} text */
function showKeyed(text) {
  state.keyed = text;
  at("pad-value").textContent = text || "how many?";
}
