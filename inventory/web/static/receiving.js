// Which order goods that came are booked to.
// The same as scanning/rules/receiving.py, held to it by one table of stories.

import { Refused, outcome, say } from "./saying.js";

// Whether the order in hand does not wait for what is being received.
/** @type {(pending: Pending) => boolean} */
export function isNotOnOrder({ order, owed }) {
  return Boolean(order) && owed.every(([number]) => number !== order);
}

// Whether somebody should say for which order this came, and was not asked yet.
/** @type {(pending: Pending) => boolean} */
export function mustSayWhich(pending) {
  const several = pending.order === null && pending.owed.length > 1;
  return !pending.order_asked && (several || isNotOnOrder(pending));
}

// The order named; else the one that has waited longest; 0: none.
/** @type {(pending: Pending) => number} */
export function orderOf({ order, owed }) {
  return order ?? owed[0]?.[0] ?? 0;
}

// Asked about once, with the orders to choose from.
/** @type {(pending: Pending) => Outcome} */
export function whichOrder(pending) {
  if (isNotOnOrder(pending)) return notOnOrder(pending);
  const said = say("which_order", { words: pending.words, orders: listed(pending.owed) });
  return outcome("which_order", "stop", said, { loud: true });
}

// The wrong item in the bag, or the same parcel twice.
/** @type {(pending: Pending) => Outcome} */
export function notOnOrder({ order, words }) {
  const said = say("not_on_order", { number: order ?? 0, words });
  return outcome("not_on_order", "stop", said, { loud: true });
}

// The order named, or the only one that waits.
/** @type {(pending: Pending) => string} */
export function waiting({ order, owed }) {
  const rows = owed.filter(([number]) => order === null || order === number);
  return rows.length === 1 ? say("waited_for", { order: listed(rows) }) : "";
}

// The orders that matter at the next bin: none unless goods are received still, and of
// another tin of the same less what was just booked.
/** @type {(owed: OrderRow[], verb: string, commit: Commit | null) => OrderRow[]} */
export function owedThen(owed, verb, commit) {
  if (verb !== "receive") return [];
  const { order, quantity } = commit ?? { order: 0, quantity: 0 };
  /** @type {OrderRow[]} */
  const left = owed.map(([number, pieces, by]) => [number, number === order ? pieces - quantity : pieces, by]);
  return left.filter(([number, pieces]) => number !== order || pieces > 0);
}

/** @type {(owed: OrderRow[]) => string} */
function listed(owed) {
  return owed.map(([number, pieces, supplier]) => (
    say("order_row", { number, supplier, pieces: pieces ? `, ${pieces}` : "" })
  )).join("; ");
}

// With nothing open, an order's goods come, bin after bin; else for this bin only.
/** @type {(fresh: BenchState, state: BenchState, number: number, facts: Facts) => Step} */
export function orderNamed(fresh, state, number, facts) {
  if (!state.pending && !number) throw new Refused("scan.nothing_open", say("nothing_open"));
  if (!state.pending) {
    const said = say("order", { number, supplier: facts.supplier ?? "" });
    return [{ ...fresh, person: state.person, verb: "receive", order: number }, outcome("order", "taken", said)];
  }
  if (state.verb !== "receive") throw new Refused("scan.pending", say("then_the_order"));
  const pending = { ...state.pending, order: number, owed: facts.owed ?? [], order_asked: false };
  const now = { ...state, pending };
  if (isNotOnOrder(pending)) return [now, notOnOrder(pending)];
  return [now, outcome("for_order", "taken", say(number ? "for_order" : "for_no_order", { number }))];
}
