// Quantities at the bench: those that are none, and those that may be a slip of the finger.
// The same as ledger/rules, held to it by one table of stories.

import { trimmed } from "./reading.js";
import { LIMITS, Refused, outcome, say } from "./saying.js";

/** @type {(value: string | number, zero: boolean) => number} */
export function checkedQuantity(value, zero) {
  const least = zero ? 0 : 1;
  const text = trimmed(String(value));
  const number = /^[0-9]{1,12}$/.test(text) ? Number(text) : -1;
  if (number < least || number > LIMITS.most) {
    throw new Refused("ledger.quantity", `'${text.slice(0, 20)}' is no quantity: key a whole number from ${least} to ${LIMITS.most.toLocaleString("en-US")}.`);
  }
  return number;
}

// What is asked of another tin of the same, less what was just pulled.
/** @type {(found: BinFacts, commit: Commit | null) => number | null} */
export function askedThen({ asked, isAskedFor }, commit) {
  if (commit?.verb !== "pull") return asked;
  return isAskedFor ? Math.max(0, (asked || 0) - commit.quantity) : null;
}

/** @type {(verb: string, quantity: number, pending: Pending) => boolean} */
export function isUnlikely(verb, quantity, { held, usual }) {
  const known = Math.max(held, usual);
  const far = known ? Math.max(LIMITS.few, LIMITS.times * known) : LIMITS.unknown;
  const most = verb === "pull" && held ? Math.max(LIMITS.few, LIMITS.twice * held) : far;
  const states = verb === "count" || verb === "look";
  const gone = states && held > LIMITS.few && quantity * LIMITS.tenth < held;
  return quantity > most || gone;
}

// Asked about once.
/** @type {(pending: Pending) => Outcome} */
export function unlikely({ quantity, words, bin, held, usual }) {
  const said = say("unlikely", {
    quantity: quantity || 0, words, number: bin, held, usual: usual ? say("usual", { usual }) : "",
  });
  return outcome("unlikely", "stop", said, { loud: true });
}

// A keyed number sets the quantity; a card below ten appends its digit.
/** @type {(state: BenchState, code: Code) => Step} */
export function keyed(state, code) {
  const { pending } = state;
  if (!pending) throw new Refused("scan.nothing_open", say("quantity_of_what"));
  const appends = code.type === "N" && code.number < 10;
  const value = appends && pending.digits ? (pending.quantity || 0) * 10 + code.number : code.number;
  checkedQuantity(code.type === "number" ? code.text : value, appends || state.verb === "count");
  const now = { ...state, pending: { ...pending, quantity: value, digits: appends, keyed: true, sure: false } };
  return [now, outcome("quantity", "taken", say("quantity", { quantity: value, words: pending.words }))];
}
