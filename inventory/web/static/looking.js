// A look at the bench: what somebody saw in the bin that is open.
// The same as scanning/rules/looking.py, held to it by one table of stories.

import { checkedQuantity } from "./quantities.js";
import { LIMITS, Refused, outcome, say } from "./saying.js";

/** @type {(unwritten: Omit<Commit, "verb">, pending: Pending, sight: "about" | "few" | "plenty") => Outcome} */
export function noted(unwritten, { bin, held, quantity, words }, sight) {
  if (sight === "plenty" && held <= LIMITS.nearly_empty) {
    throw new Refused("ledger.look", say("not_plenty", { number: bin, held }));
  }
  const pieces = sight === "about" ? checkedQuantity(quantity ?? "", false) : 0;
  const seen = say(`seen_${sight}`, { quantity: pieces });
  const commit = { ...unwritten, verb: `look:${sight}`, bin, quantity: pieces };
  return outcome("committed", "taken", say("looked", { number: bin, seen, words }), { commit });
}
