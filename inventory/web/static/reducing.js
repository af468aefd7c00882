// The bench's reducer on the device: (state, code, facts) becomes (state, outcome).
// The same as scanning/rules/bench.py, held to it by one table of stories.

import { isUnlikelyFew, noted, unlikelyFew } from "./looking.js";
import { askedThen, checkedQuantity, isUnlikely, keyed, unlikely } from "./quantities.js";
import { trimmed } from "./reading.js";
import { isNotOnOrder, mustSayWhich, notOnOrder, orderNamed, orderOf, owedThen, waiting, whichOrder } from "./receiving.js";
import { ACTIONS, DONE, ELSEWHERE, LIMITS, REASONS, Refused, outcome, say } from "./saying.js";

/** @type {Readonly<BenchState>} */
export const FRESH = {
  assembly: null, verb: "pull", pending: null, reason: "", bit: null, person: null, order: null,
};
const UNWRITTEN = { bin: 0, quantity: 0, reason: "", bit: 0, act: 0, instead: null, order: 0 };

/**
 * One code at one bench. A refusal is thrown; the state stands.
 * @param {BenchState} state
 * @param {Code} code
 * @param {Facts} facts
 * @param {number} ms
 * @returns {Step}
 */
export function reduce(state, code, facts, ms) {
  const { type, number } = code;
  if (type === "B" && facts.bin) return bin(state, facts.bin, ms);
  if (type === "S") return assembly(state, number, facts.assemblyName ?? "");
  if (type === "number" || type === "N") return keyed(state, code);
  if (type === "T") return bit(state, number, facts.bitWords ?? "");
  if (type === "H") return person(state, number, facts.person ?? "");
  if (type === "R") return orderNamed(FRESH, state, number, facts);
  if (type === "C") return action(state, ACTIONS[number], facts.owed ?? []);
  if (type === "undo") return takenBack(state, { verb: "undo", act: number }, "that_entry");
  if (ELSEWHERE[type]) throw new Refused("scan.elsewhere", say("elsewhere", { what: ELSEWHERE[type] }));
  throw new Refused("scan.unknown", say("unknown", { text: trimmed(code.text).slice(0, 40) }));
}

/** @type {(state: BenchState, found: BinFacts, ms: number) => Step} */
function bin(state, found, ms) {
  const { pending } = state;
  if (pending && pending.bin === found.number) {
    if (ms - pending.opened_ms < LIMITS.repeat_ms) return [state, outcome("ignored", "neutral", say("repeat"))];
    return commit(state);
  }
  const [after, before] = settled(state);
  if (before && after.pending) return [after, before];
  const same = pending?.item === found.item ? before?.commit ?? null : null;
  const facts = { ...found, asked: askedThen(found, same), owed: owedThen(found.owed, after.verb, same) };
  return joined(before, opened(after, facts, ms));
}

// What is open is committed before the next begins; a wrong tin is put back.
/** @type {(state: BenchState) => [BenchState, Outcome | null]} */
function settled(state) {
  const { pending } = state;
  if (!pending) return [state, null];
  if (lacksReason(state)) {
    const said = say("put_back", { number: pending.bin });
    return [{ ...state, pending: null }, outcome("cancelled", "neutral", said)];
  }
  return commit(state);
}

/** @type {(before: Outcome | null, step: Step) => Step} */
function joined(before, [state, now]) {
  if (!before) return [state, now];
  return [state, { ...now, commit: before.commit, sentence: `${before.sentence} ${now.sentence}` }];
}

/** @type {(state: BenchState, found: BinFacts, ms: number) => Step} */
function opened(state, found, ms) {
  const { asked, words } = found;
  const forAssembly = state.assembly !== null && !found.isTool;
  const wrong = forAssembly && !found.isAskedFor;
  const pending = {
    bin: found.number, item: found.item, words, asked, wrong, opened_ms: ms, digits: false, keyed: false,
    quantity: state.verb === "pull" && asked ? asked : null,
    instead: wrong && found.instead ? found.instead.item : null,
    instead_words: wrong && found.instead ? found.instead.words : "",
    held: found.held, usual: Math.max(found.usual, asked || 0), sure: false,
    owed: found.owed, order: state.verb === "receive" ? state.order : null, order_asked: false,
  };
  const now = { ...state, pending, bit: null };
  if (state.verb === "pull" && wrong) return [now, wrongTin(found)];
  if (state.verb === "pull" && forAssembly && !asked) {
    return [now, outcome("all_pulled", "stop", say("all_pulled", { words }), { loud: true })];
  }
  if (isNotOnOrder(pending)) return [now, notOnOrder(pending)];
  const said = say("opened", {
    verb: state.verb,
    words,
    number: found.number,
    held: found.held,
    asks: asked ? say("still_asked", { asked }) : "",
    orders: waiting(pending),
    ...reminders(found, state.verb === "pull"),
  });
  return [now, outcome("opened", "taken", said)];
}

/** @type {(found: BinFacts, isPull: boolean) => { mind: string, cold: string }} */
function reminders({ mind, cold }, isPull) {
  return {
    mind: mind && isPull ? say("mind", { mind }) : "",
    cold: cold && isPull ? ` ${cold}` : "",
  };
}

// Loud, in words, and with the two items to be drawn side by side.
/** @type {(found: BinFacts) => Outcome} */
function wrongTin({ item, words, instead }) {
  if (!instead) return outcome("not_asked_for", "stop", say("not_asked_for", { words }), { loud: true });
  const where = instead.where ? `, ${instead.where}` : "";
  const { differs } = instead;
  const said = say("look_alike_asked_for", { words, differs, asked: instead.words, where });
  return outcome("not_asked_for", "stop", said, { loud: true, data: { this: item, asked: instead.item, differs } });
}

/** @type {(state: BenchState) => boolean} */
function lacksReason(state) {
  return Boolean(state.pending?.wrong && state.verb === "pull" && !state.reason);
}

/** @type {(state: BenchState) => Step} */
function commit(state) {
  const { pending, verb } = state;
  if (!pending) throw new Refused("scan.nothing_open", say("nothing_open"));
  if (lacksReason(state)) throw new Refused("scan.reason_needed", say("say_why"));
  const { words } = pending;
  if (pending.quantity === null) throw new Refused("scan.no_quantity", say("how_many", { words }));
  const number = checkedQuantity(pending.quantity, verb === "count");
  if (isUnlikely(verb, number, pending) && !pending.sure) {
    return [{ ...state, pending: { ...pending, sure: true } }, unlikely(pending)];
  }
  if (verb === "look") return [afresh(state), noted(UNWRITTEN, pending, "about")];
  if (verb === "receive" && mustSayWhich(pending)) {
    return [{ ...state, pending: { ...pending, order_asked: true } }, whichOrder(pending)];
  }
  const written = {
    ...UNWRITTEN, verb, bin: pending.bin, quantity: number, reason: REASONS[state.reason] || "",
    instead: state.reason === "instead" ? pending.instead : null,
    order: verb === "receive" ? orderOf(pending) : 0,
  };
  const fresh = afresh(state);
  const done = DONE[/** @type {keyof typeof DONE} */ (verb)];
  return [fresh, outcome("committed", "taken", say("committed", { done, quantity: number, words }), { commit: written })];
}

// One action card holds for one movement: a forgotten 'scrap' must not go on. An order's
// sheet holds until the order is left.
/** @type {(state: BenchState) => BenchState} */
function afresh(state) {
  return { ...state, pending: null, verb: state.order === null ? "pull" : "receive", reason: "", bit: null };
}

/** @type {(state: BenchState, number: number, name: string) => Step} */
function assembly(state, number, name) {
  const [after, before] = settled(state);
  if (before && after.pending) return [after, before];
  const verb = after.order === null ? after.verb : "pull";
  const now = { ...after, assembly: number, pending: null, bit: null, order: null, verb };
  return joined(before, [now, outcome("assembly", "taken", say("assembly", { name }))]);
}

/** @type {(state: BenchState, number: number, name: string) => Step} */
function person(state, number, name) {
  if (state.pending) throw new Refused("scan.pending", say("then_the_badge"));
  return [{ ...state, person: number }, outcome("person", "taken", say("person", { name }))];
}

/** @type {(state: BenchState, number: number, words: string) => Step} */
function bit(state, number, words) {
  if (state.pending) throw new Refused("scan.pending", say("then_the_bit"));
  return [{ ...state, bit: number }, outcome("bit", "taken", say("bit", { words }))];
}

/** @type {(state: BenchState, name: string, owed: OrderRow[]) => Step} */
function action(state, name, owed) {
  if (name === "enter") return commit(state);
  if (name === "cancel") {
    // With nothing begun, the order in hand is left.
    return [afresh(state.pending ? state : { ...state, order: null }), outcome("cancelled", "neutral", say("cancelled"))];
  }
  if (name === "leave") return [FRESH, outcome("left", "neutral", say("left"))];
  if (name === "undo") return takenBack(state, { verb: "undo" }, "last_entry");
  if (name === "redo") return takenBack(state, { verb: "redo" }, "last_undo");
  if (name.startsWith("reason:")) return reason(state, name.slice(7));
  if (name.startsWith("bit:")) return bitEvent(state, name.slice(4));
  if (name.startsWith("look:")) return sight(state, name.slice(5));
  return verb(state, name, owed);
}

// Whatever is open is dropped: it was not written, so there is nothing to undo.
/** @type {(state: BenchState, asked: {verb: string, act?: number}, what: "that_entry" | "last_entry" | "last_undo") => Step} */
function takenBack(state, asked, what) {
  return [afresh(state), outcome("undone", "taken", say(what), { commit: { ...UNWRITTEN, ...asked } })];
}

/** @type {(state: BenchState, name: string) => Step} */
function reason(state, name) {
  const { pending } = state;
  if (name === "instead" && (!pending || pending.instead === null)) {
    throw new Refused("scan.instead_of_what", say("instead_of_what"));
  }
  const said = say("reason", {
    reason: REASONS[name],
    instead: name === "instead" && pending ? say("reason_instead", { words: pending.instead_words }) : "",
    ask: pending && pending.quantity === null ? say("reason_ask", { words: pending.words }) : "",
  });
  return [{ ...state, reason: name }, outcome("reason", "taken", said)];
}

/** @type {(state: BenchState, event: string) => Step} */
function bitEvent(state, event) {
  const number = state.bit;
  if (number === null) throw new Refused("scan.no_bit", say("which_bit"));
  const written = { ...UNWRITTEN, verb: `bit:${event}`, bit: number };
  return [{ ...state, bit: null }, outcome("bit_event", "taken", say("bit_event", { number, event }), { commit: written })];
}

// What was seen is noted at once: nothing moves, so no reason is wanted. Who sees a bin
// empty has counted it.
/** @type {(state: BenchState, seen: string) => Step} */
function sight(state, seen) {
  const { pending } = state;
  if (!pending) throw new Refused("scan.nothing_open", say("nothing_open"));
  if (seen === "empty") return commit({ ...state, verb: "count", pending: { ...pending, quantity: 0 } });
  if (isUnlikelyFew(pending, seen)) return [{ ...state, pending: { ...pending, sure: true } }, unlikelyFew(pending)];
  return [afresh(state), noted(UNWRITTEN, pending, seen === "few" ? "few" : "plenty")];
}

// Another verb before the quantity is written changes what will be written; 'look' after a
// number that was keyed says that it is about so many.
/** @type {(state: BenchState, name: string, owed: OrderRow[]) => Step} */
function verb(state, name, owed) {
  let { pending } = state;
  if (name === "look" && pending?.keyed) return commit({ ...state, verb: name });
  const receives = name === "receive";
  const order = receives ? state.order : null;
  if (pending) {
    const quantity = name === "pull" ? pending.asked : null;
    const fresh = { quantity, digits: false, keyed: false, sure: false, order, order_asked: false };
    pending = { ...pending, ...fresh, owed: receives ? owed : [] };
  }
  const said = pending
    ? say("verb_how_many", { verb: name, words: pending.words, orders: waiting(pending) })
    : say("verb", { verb: name });
  return [{ ...state, verb: name, pending, order }, outcome("verb", "taken", said)];
}
