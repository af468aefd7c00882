// A scanner that types: physical keys, read as a US keyboard, ended by Enter or Tab.

const SHIFTED = ")!@#$%^&*(";
/** @type {Record<string, string>} */
const SIGNS = {
  Minus: "-_", Equal: "=+", Slash: "/?", Period: ".>", Comma: ",<", Semicolon: ";:",
  Quote: "'\"", BracketLeft: "[{", BracketRight: "]}", Backslash: "\\|", Backquote: "`~",
  Space: "  ", NumpadSubtract: "--", NumpadAdd: "++", NumpadDivide: "//",
  NumpadMultiply: "**", NumpadDecimal: "..",
};
// How Ctrl and a key arrive when a scanner sends a separator of a 2-D code.
/** @type {Record<string, string>} */
const CONTROLS = { BracketRight: "\x1d", Digit6: "\x1e", KeyD: "\x04" };

const OWN_SO_FAR = /^X[A-Z]?\d*$/i;
const OWN = /^X[A-Z]\d{6}$/i;
const OWN_GAP_MS = 150;
const GAP_MS = 60;
const RUN = 3;

/**
 * The character a key means on a US keyboard; "" for a key that types nothing.
 * @param {KeyboardEvent} event
 */
export function character(event) {
  const code = event.code || "";
  if (/^Key[A-Z]$/.test(code)) {
    const capital = event.shiftKey !== event.getModifierState("CapsLock");
    return capital ? code[3] : code[3].toLowerCase();
  }
  if (/^Digit\d$/.test(code)) return event.shiftKey ? SHIFTED[Number(code[5])] : code[5];
  if (/^Numpad\d$/.test(code)) return code[6];
  if (SIGNS[code]) return SIGNS[code][event.shiftKey ? 1 : 0];
  return event.key && event.key.length === 1 ? event.key : "";
}

// What came since the last Enter, and whether it came evenly.
export class Wedge {
  text = "";
  lastAt = 0;
  fast = 0;
  longestRun = 0;
  slow = 0;

  clear() {
    this.text = "";
    this.lastAt = 0;
    this.fast = 0;
    this.longestRun = 0;
    this.slow = 0;
  }

  /**
   * @param {string} sign
   * @param {number} at
   */
  add(sign, at) {
    if (this.text) {
      const limit = OWN_SO_FAR.test(this.text) ? OWN_GAP_MS : GAP_MS;
      if (at - this.lastAt <= limit) {
        this.fast += 1;
        this.longestRun = Math.max(this.longestRun, this.fast);
      } else {
        this.slow += 1;
        this.fast = 0;
      }
    }
    this.text += sign;
    this.lastAt = at;
  }

  /**
   * True while keys come as fast as only a scanner sends them.
   * @param {number} at
   */
  inBurst(at) {
    return this.text !== "" && this.fast > 0 && at - this.lastAt <= OWN_GAP_MS;
  }

  // A scan that stalled half-way is in doubt, unless it is one whole code of the shop,
  // whose check digits the server proves.
  get inDoubt() {
    return this.slow > 0 && this.longestRun >= RUN && /X/i.test(this.text)
      && !OWN.test(this.text);
  }

  /** @param {KeyboardEvent} event */
  control(event) {
    return event.ctrlKey ? CONTROLS[event.code] || "" : "";
  }
}
