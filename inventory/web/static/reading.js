// One string, from a scanner, a photo or a finger, becomes one code.
// The same as scanning/rules/reading.py, held to it by one table of stories.

import { ACTIONS, LIMITS, Refused, say } from "./saying.js";

/** @param {string} text */
export function trimmed(text) {
  // eslint-disable-next-line no-control-regex -- separators of 2-D codes are white space too
  return text.replace(/^[\s\x1c-\x1f\x85]+|[\s\x1c-\x1f\x85]+$/g, "");
}

/**
 * ISO/IEC 7064 MOD 97-10, letters as 10 to 35.
 * @param {string} text
 */
function isChecked(text) {
  let rest = 0;
  for (const sign of text) {
    const value = parseInt(sign, 36);
    rest = (rest * (value > 9 ? 100 : 10) + value) % 97;
  }
  return rest === 1;
}

/**
 * The end of an address; the address itself is never followed.
 * @param {string} text
 */
function lastSegment(text) {
  if (!/^https?:\/\//i.test(text)) return "";
  const path = text.replace(/^[^:]*:\/\/[^/?#]*/, "").split(/[?#]/)[0];
  return path.replace(/\/+$/, "").split("/").pop() ?? "";
}

/** @param {string} text */
function bareCode(text) {
  return text.replace(/[ -]/g, "").toUpperCase();
}

/** @param {string} text */
function own(text) {
  const bare = bareCode(text);
  if (!/^X[BTSCNPHRK][0-9]{6}$/.test(bare)) return null;
  if (!isChecked(bare)) {
    const clear = `${bare.slice(0, 2)} ${bare.slice(2, 6)}-${bare.slice(6)}`;
    throw new Refused("code.check", `The check characters of ${clear} are wrong: one character was misread or mistyped; scan again.`);
  }
  const number = Number(bare.slice(2, 6));
  if (bare[1] === "C" && !ACTIONS[number]) throw new Refused("scan.action", say("no_such_card", { number }));
  return { type: bare[1], number };
}

/**
 * @param {string} text
 * @returns {Code}
 */
export function readCode(text) {
  const whole = trimmed(text);
  if (!whole) throw new Refused("scan.empty", say("nothing_came"));
  const most = LIMITS.scan_characters;
  if (text.length > most) throw new Refused("scan.long", say("too_long", { most }));
  // A scanner set to say which symbology it read puts three characters in front.
  const marked = /^\][A-Za-z][0-9A-Za-z]/.test(whole);
  const plain = marked ? whole.slice(3) : whole;
  const code = own(plain) || own(lastSegment(plain));
  if (code) return { ...code, text };
  partial(plain);
  return (!marked && typed(plain, text)) || { type: "foreign", number: 0, text };
}

/**
 * @param {string} plain
 * @param {string} text
 * @returns {Code | null}
 */
function typed(plain, text) {
  const bin = /^b(?:in)? ?([0-9]{1,4})$/i.exec(plain);
  if (bin) return { type: "B", number: Number(bin[1]), text };
  const order = /^(?:no order|order ([0-9]{1,4}))$/i.exec(plain);
  if (order) return { type: "R", number: Number(order[1] ?? 0), text };
  const undo = /^undo ([0-9]{1,12})$/.exec(plain);
  if (undo) return { type: "undo", number: Number(undo[1]), text };
  if (/^[-+]?[0-9]+([.,][0-9]+)?$/.test(plain) && plain.length <= 12) {
    return { type: "number", number: /^[0-9]+$/.test(plain) ? Number(plain) : -1, text };
  }
  return null;
}

/**
 * A scan that stalled, or two that ran together.
 * @param {string} plain
 */
function partial(plain) {
  const text = bareCode(plain);
  if (/^X[BTSCNPHRK]?[0-9]{0,7}$/.test(text)) {
    throw new Refused("scan.partial", say("part_of_a_code", { text }));
  }
  if (/^(X[BTSCNPHRK][0-9]{0,6}){2,}$/.test(text)) {
    throw new Refused("scan.partial", say("two_scans"));
  }
}
