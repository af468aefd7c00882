// A look at the bench: what somebody saw in the bin that is open.
// The same as scanning/rules/looking.py, held to it by one table of stories.

import { checkedQuantity, isUnlikely } from "./quantities.js";
import { LIMITS, Refused, outcome, say } from "./saying.js";

// Whether 'nearly empty' may be a slip: the bin should be far from it. Asked about once.
/** @type {(pending: Pending, sight: string) => boolean} */
export function isUnlikelyFew(pending, sight) {
  const few = Math.floor(LIMITS.nearly_empty / 2);
  return sight === "few" && !pending.sure && isUnlikely("look", few, pending);
}

/** @type {(pending: Pending) => Outcome} */
export function unlikelyFew({ bin, held }) {
  return outcome("unlikely", "stop", say("unlikely_few", { number: bin, held }), { loud: true });
}

/** @type {(unwritten: Omit<Commit, "verb">, pending: Pending, sight: "about" | "few" | "plenty") => Outcome} */
export function noted(unwritten, { bin, held, quantity, words }, sight) {
  if (sight === "plenty" && held <= LIMITS.nearly_empty) {
    throw new Refused("ledger.look", say("not_plenty", { number: bin, held }));
  }
  const pieces = sight === "about" ? checkedQuantity(quantity ?? "", false) : 0;
  const seen = say(`seen_${sight}`, { quantity: pieces });
  const commit = { ...unwritten, verb: `look:${sight}`, bin, quantity: pieces };
  return outcome("noted", "taken", say("looked", { number: bin, seen, words }), { commit });
}
