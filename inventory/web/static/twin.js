// The bench's reducer on the device: what the server will say of a code, said at once.
// The same as scanning/rules/{reading,facts,bench}.py, held to it by one table of cases.

const REPEAT_MS = 800;
// A bench that nobody used for so long is free again.
const IDLE_MS = 4 * 3600 * 1000;
const MOST = 1000000;
const MOST_MINDED = 3;
const TAKEN = "taken";
const STOP = "stop";
const NEUTRAL = "neutral";
const ACTIONS = {
  1: "pull", 2: "return", 3: "count", 4: "scrap", 5: "receive", 6: "undo", 7: "cancel",
  8: "leave", 9: "enter", 10: "redo", 11: "reason:repair", 12: "reason:practice",
  13: "reason:other", 14: "reason:instead", 15: "reason:spare", 16: "reason:elsewhere",
  21: "bit:dull", 22: "bit:broken", 23: "bit:resharpened", 24: "bit:fitted",
};
const REASONS = {
  repair: "repair", practice: "practice", other: "outside the plan", instead: "stands in",
  spare: "spare", elsewhere: "for another assembly",
};
const ELSEWHERE = { P: "a place", R: "an order", K: "an item" };
const DONE = { pull: "Pulled", return: "Returned", count: "Counted", scrap: "Scrapped", receive: "Received" };

export const FRESH = {
  assembly: null, verb: "pull", pending: null, reason: "", bit: null, person: null,
};

class Refused extends Error {
  constructor(code, sentence) {
    super(sentence);
    this.code = code;
  }
}

// ---- reading

function trimmed(text) {
  return text.replace(/^[\s\x1c-\x1f\x85]+|[\s\x1c-\x1f\x85]+$/g, "");
}

// ISO/IEC 7064 MOD 97-10, letters as 10 to 35.
export function isChecked(text) {
  let rest = 0;
  for (const sign of text) {
    const value = parseInt(sign, 36);
    rest = (rest * (value > 9 ? 100 : 10) + value) % 97;
  }
  return rest === 1;
}

function lastSegment(text) {
  if (!/^https?:\/\//i.test(text)) return "";
  const path = text.replace(/^[^:]*:\/\/[^/?#]*/, "").split(/[?#]/)[0];
  return path.replace(/\/+$/, "").split("/").pop();
}

function own(text) {
  const bare = text.replace(/[ -]/g, "").toUpperCase();
  if (!/^X[BTSCNPHRK][0-9]{6}$/.test(bare)) return null;
  if (!isChecked(bare)) {
    const clear = `${bare.slice(0, 2)} ${bare.slice(2, 6)}-${bare.slice(6)}`;
    throw new Refused("code.check", `The check characters of ${clear} are wrong: one character was misread or mistyped; scan again.`);
  }
  const number = Number(bare.slice(2, 6));
  if (bare[1] === "C" && !ACTIONS[number]) {
    throw new Refused("scan.action", `Action card ${number} is not in use here.`);
  }
  return { type: bare[1], number };
}

export function readCode(text) {
  const whole = trimmed(text);
  if (!whole) throw new Refused("scan.empty", "Nothing came: scan again, or type the code.");
  if (text.length > 512) throw new Refused("scan.long", "That is more than 512 characters: scan one label.");
  const marked = /^\][A-Za-z][0-9A-Za-z]/.test(whole);
  const plain = marked ? whole.slice(3) : whole;
  const code = own(plain) || own(lastSegment(plain));
  if (code) return { ...code, text };
  partial(plain);
  if (!marked) {
    const bin = /^[bB] ?([0-9]{1,4})$/.exec(plain);
    if (bin) return { type: "B", number: Number(bin[1]), text };
    const undo = /^undo ([0-9]{1,12})$/.exec(plain);
    if (undo) return { type: "undo", number: Number(undo[1]), text };
    if (/^[-+]?[0-9]+([.,][0-9]+)?$/.test(plain) && plain.length <= 12) {
      return { type: "number", number: /^[0-9]+$/.test(plain) ? Number(plain) : -1, text };
    }
  }
  return { type: "foreign", number: 0, text };
}

function partial(plain) {
  const bare = plain.replace(/[ -]/g, "").toUpperCase();
  if (/^X[BTSCNPHRK]?[0-9]{0,7}$/.test(bare)) {
    throw new Refused("scan.partial", `Only a part of a code came ('${bare}'): scan again. Nothing was taken.`);
  }
  if (/^(X[BTSCNPHRK][0-9]{0,6}){2,}$/.test(bare)) {
    throw new Refused("scan.partial", "Two scans ran into each other: scan again. Nothing was taken.");
  }
}

// ---- the shop as this device knows it

export class Known {
  constructor(shop) {
    this.shop = shop;
    this.forget();
  }

  // What was taken here and is not in the shop's figures yet.
  forget() {
    this.bins = {};
    this.asks = {};
  }

  held(number) {
    return Math.max(0, this.shop.bins[number].on_hand + (this.bins[number] || 0));
  }

  asked(assembly, item) {
    const row = this.shop.assemblies[assembly];
    const asked = row?.asks[item];
    if (asked === undefined) return undefined;
    return Math.max(0, asked + (this.asks[`${assembly} ${item}`] || 0));
  }

  where(item) {
    const numbers = Object.keys(this.shop.bins).filter((at) => this.shop.bins[at].item === item);
    if (!numbers.length) return "";
    const first = Math.min(...numbers.map(Number));
    const { spot } = this.shop.bins[first];
    return spot ? `bin ${first}, ${spot}` : `bin ${first}`;
  }

  facts(code, assembly) {
    if (code.type === "B") return { bin: this.bin(code.number, assembly) };
    if (code.type === "S") return { assemblyName: this.openAssembly(code.number).name };
    if (code.type === "T") {
      const words = this.shop.bits[code.number];
      if (words === undefined) throw new Refused("forecasting.no_bit", `There is no bit ${code.number} here: fit one from a bin.`);
      return { bitWords: words };
    }
    if (code.type === "H") {
      const person = this.shop.people[code.number];
      if (person === undefined) throw new Refused("scan.no_person", "That badge is nobody's here.");
      return { person };
    }
    return {};
  }

  openAssembly(number) {
    const row = this.shop.assemblies[number];
    if (!row) throw new Refused("planning.no_assembly", `There is no assembly ${number} in the plan: choose one from the list.`);
    if (row.closed) throw new Refused("planning.closed", `${row.name} is closed: re-open it on its page, or choose another.`);
    return row;
  }

  bin(number, assembly) {
    const row = this.shop.bins[number];
    if (!row) throw new Refused("ledger.no_bin", `There is no bin ${number} in this shop: make it, or scan another.`);
    const item = this.shop.items[row.item];
    const open = assembly ? this.shop.assemblies[assembly] : undefined;
    const mine = open && this.asked(assembly, row.item);
    let asked = mine ?? null;
    if (item.tool) asked = item.kind === "drill" ? 1 : this.holds(assembly, open, row.item);
    return {
      number,
      item: row.item,
      words: item.words,
      onHand: this.held(number),
      asked,
      isAskedFor: mine !== undefined,
      instead: mine === undefined ? this.instead(item, assembly) : null,
      isTool: item.tool,
      mind: this.mind(row.item),
    };
  }

  holds(assembly, open, item) {
    const wanted = open?.holds[item];
    return wanted ? Math.max(0, wanted + (this.asks[`${assembly} ${item}`] || 0)) || null : null;
  }

  instead(item, assembly) {
    for (const [other, differs] of item.alike) {
      if (assembly && this.asked(assembly, other)) {
        return { item: other, words: this.shop.items[other].words, where: this.where(other), differs };
      }
    }
    return null;
  }

  mind(item) {
    const said = [];
    for (const [other] of this.shop.items[item].alike) {
      const [where] = this.where(other).split(",");
      const differs = this.shop.items[other].alike.find(([id]) => id === item)?.[1];
      if (where && differs) said.push(`${where} is ${differs}`);
    }
    return said.slice(0, MOST_MINDED).join("; ");
  }

  // What a commit changes of what is held and asked, until the server says so itself.
  moved(commit, assembly) {
    const row = this.shop.bins[commit.bin];
    if (!row) return;
    const { quantity, verb } = commit;
    const item = commit.instead ?? row.item;
    const key = `${assembly} ${item}`;
    const aside = commit.reason === REASONS.elsewhere;
    const asked = assembly && !aside ? (by) => { this.asks[key] = (this.asks[key] || 0) + by; } : () => {};
    const held = (by) => { this.bins[commit.bin] = (this.bins[commit.bin] || 0) + by; };
    if (verb === "pull") { held(-Math.min(quantity, this.held(commit.bin))); asked(-quantity); }
    if (verb === "return") { held(quantity); asked(quantity); }
    if (verb === "receive") held(quantity);
    if (verb === "count") held(quantity - this.held(commit.bin));
    if (verb === "scrap") { if (assembly) asked(quantity); else held(-quantity); }
  }
}

// ---- reducing

function outcome(kind, tone, sentence, more = {}) {
  return { kind, tone, sentence, loud: false, commit: null, data: {}, ...more };
}

export function reduce(state, code, facts, ms) {
  switch (code.type) {
    case "B": return bin(state, facts.bin, ms);
    case "S": return assembly(state, code.number, facts);
    case "number": case "N": return quantity(state, code);
    case "T": return bit(state, code.number, facts);
    case "H": return person(state, code.number, facts);
    case "C": return action(state, ACTIONS[code.number]);
    case "undo": return takenBack(state, { verb: "undo", act: code.number }, "That entry");
    case "P": case "R": case "K":
      throw new Refused("scan.elsewhere", `That is the label of ${ELSEWHERE[code.type]}: open it on its page. Here scan a bin, an assembly sheet or a card.`);
    default:
      throw new Refused("scan.unknown", `'${trimmed(code.text).slice(0, 40)}' is no code of this shop: scan a bin, an assembly sheet or an action card.`);
  }
}

function bin(state, found, ms) {
  const { pending } = state;
  if (pending && pending.bin === found.number) {
    if (ms - pending.opened_ms < REPEAT_MS) {
      return [state, outcome("ignored", NEUTRAL, "The same label again: ignored.")];
    }
    return commit(state);
  }
  const [settledState, before] = settled(state);
  let facts = found;
  if (pending && before?.commit?.verb === "pull" && pending.item === found.item) {
    const left = Math.max(0, (found.asked || 0) - before.commit.quantity);
    facts = { ...found, asked: found.isAskedFor ? left : null };
  }
  return joined(before, opened(settledState, facts, ms));
}

function settled(state) {
  const { pending } = state;
  if (!pending) return [state, null];
  if (lacksReason(state)) {
    const said = `Bin ${pending.bin} is put back: nothing was pulled from it.`;
    return [{ ...state, pending: null }, outcome("cancelled", NEUTRAL, said)];
  }
  return commit(state);
}

function joined(before, [state, now]) {
  if (!before) return [state, now];
  return [state, { ...now, commit: before.commit, sentence: `${before.sentence} ${now.sentence}` }];
}

function opened(state, found, ms) {
  const proposed = state.verb === "pull" && found.asked ? found.asked : null;
  const forAssembly = state.assembly !== null && !found.isTool;
  const wrong = forAssembly && !found.isAskedFor;
  const pending = {
    bin: found.number, item: found.item, words: found.words, quantity: proposed, asked: found.asked,
    opened_ms: ms, digits: false, wrong,
    instead: wrong && found.instead ? found.instead.item : null,
    instead_words: wrong && found.instead ? found.instead.words : "",
  };
  const now = { ...state, pending, bit: null };
  if (state.verb === "pull" && wrong) return [now, wrongTin(found)];
  if (state.verb === "pull" && forAssembly && !found.asked) {
    return [now, outcome("all_pulled", STOP, `All of ${found.words} is pulled already for this assembly: key a quantity to pull more, or cancel.`, { loud: true })];
  }
  const asks = found.asked ? `, still asked ${found.asked}` : "";
  const mind = found.mind && state.verb === "pull" ? ` Mind: ${found.mind}.` : "";
  return [now, outcome("opened", TAKEN, `${state.verb} ${found.words}: bin ${found.number} holds ${found.onHand} by the record${asks}.${mind}`)];
}

function wrongTin(found) {
  const said = `STOP. This assembly does not ask for ${found.words}.`;
  const other = found.instead;
  if (!other) return outcome("not_asked_for", STOP, `${said} Put it back.`, { loud: true });
  const where = other.where ? `, ${other.where}` : "";
  return outcome("not_asked_for", STOP, `${said} This one is ${other.differs}. It asks for ${other.words}${where}.`, {
    loud: true,
    data: { this: found.item, asked: other.item, differs: other.differs },
  });
}

function lacksReason(state) {
  return Boolean(state.pending?.wrong && state.verb === "pull" && !state.reason);
}

function commit(state) {
  const { pending } = state;
  if (!pending) throw new Refused("scan.nothing_open", "Nothing is open: scan a bin first.");
  if (lacksReason(state)) {
    throw new Refused("scan.reason_needed", "Nothing moved. This assembly does not ask for it: say why (stands in, spare, another assembly), or cancel and put it back.");
  }
  if (pending.quantity === null) {
    throw new Refused("scan.no_quantity", `How many of ${pending.words}? Key the quantity, or cancel. Nothing moved.`);
  }
  const number = checkedQuantity(pending.quantity, state.verb === "count");
  const written = {
    verb: state.verb, bin: pending.bin, quantity: number, reason: REASONS[state.reason] || "",
    bit: 0, act: 0, instead: state.reason === "instead" ? pending.instead : null,
  };
  const fresh = { ...state, pending: null, verb: "pull", reason: "" };
  return [fresh, outcome("committed", TAKEN, `${DONE[state.verb]} ${number} x ${pending.words}.`, { commit: written })];
}

function checkedQuantity(value, zero) {
  const least = zero ? 0 : 1;
  const text = trimmed(String(value));
  const number = /^[0-9]{1,12}$/.test(text) ? Number(text) : null;
  if (number === null || number < least || number > MOST) {
    throw new Refused("ledger.quantity", `'${text.slice(0, 20)}' is no quantity: key a whole number from ${least} to 1,000,000.`);
  }
  return number;
}

function assembly(state, number, facts) {
  const [after, before] = settled(state);
  const now = { ...after, assembly: number, pending: null, bit: null };
  return joined(before, [now, outcome("assembly", TAKEN, `Working on ${facts.assemblyName}.`)]);
}

function person(state, number, facts) {
  if (state.pending) throw new Refused("scan.pending", "A bin is open: confirm or cancel it, then show the badge.");
  return [{ ...state, person: number }, outcome("person", TAKEN, `${facts.person} is at this bench.`)];
}

function quantity(state, code) {
  const { pending } = state;
  if (!pending) throw new Refused("scan.nothing_open", "A quantity of what? Scan a bin first.");
  const appends = code.type === "N" && code.number < 10;
  let value = code.number;
  if (appends && pending.digits) value = (pending.quantity || 0) * 10 + code.number;
  checkedQuantity(code.type === "number" ? code.text : value, appends || state.verb === "count");
  return [{ ...state, pending: { ...pending, quantity: value, digits: appends } }, outcome("quantity", TAKEN, `${value} x ${pending.words}.`)];
}

function bit(state, number, facts) {
  if (state.pending) throw new Refused("scan.pending", "A bin is open: confirm or cancel it, then scan the bit.");
  return [{ ...state, bit: number }, outcome("bit", TAKEN, `${facts.bitWords}: fitted, dull, broken or resharpened?`)];
}

function action(state, name) {
  const bare = { ...state, pending: null, verb: "pull", reason: "", bit: null };
  if (name === "enter") return commit(state);
  if (name === "cancel") return [bare, outcome("cancelled", NEUTRAL, "Cancelled: nothing moved.")];
  if (name === "leave") return [FRESH, outcome("left", NEUTRAL, "The bench is free.")];
  if (name === "undo") return takenBack(state, { verb: "undo" }, "The last entry here");
  if (name === "redo") return takenBack(state, { verb: "redo" }, "The last undo here");
  if (name.startsWith("reason:")) return reason(state, name.slice(7));
  if (name.startsWith("bit:")) return bitEvent(state, name.slice(4));
  return verb(state, name);
}

function takenBack(state, asked, what) {
  const fresh = { ...state, pending: null, verb: "pull", reason: "", bit: null };
  const written = { bin: 0, quantity: 0, reason: "", bit: 0, act: 0, instead: null, ...asked };
  return [fresh, outcome("undone", TAKEN, `${what} is taken back.`, { commit: written })];
}

function reason(state, name) {
  const { pending } = state;
  if (name === "instead" && (!pending || pending.instead === null)) {
    throw new Refused("scan.instead_of_what", "Nothing that is still asked looks like it: choose another reason, or name the need on the assembly's page. Nothing moved.");
  }
  let said = `Reason: ${REASONS[name]}`;
  if (name === "instead") said += ` for ${pending.instead_words}`;
  if (pending && pending.quantity === null) said += `. How many of ${pending.words}?`;
  return [{ ...state, reason: name }, outcome("reason", TAKEN, said)];
}

function bitEvent(state, event) {
  if (state.bit === null) throw new Refused("scan.no_bit", "Which bit? Scan its tag first.");
  const written = { verb: `bit:${event}`, bin: 0, quantity: 0, reason: "", bit: state.bit, act: 0, instead: null };
  return [{ ...state, bit: null }, outcome("bit_event", TAKEN, `Bit ${state.bit}: ${event}.`, { commit: written })];
}

function verb(state, name) {
  let { pending } = state;
  if (pending) pending = { ...pending, quantity: name === "pull" ? pending.asked : null, digits: false };
  const what = pending ? ` ${pending.words}: how many?` : ": scan a bin.";
  return [{ ...state, verb: name, pending }, outcome("verb", TAKEN, `${name}${what}`)];
}

// ---- the bench as this device sees it

export class Twin {
  constructor(shop, state = FRESH) {
    this.known = new Known(shop);
    this.state = { ...FRESH, ...state };
    this.lastMs = null;
  }

  // Takes one code; a refusal is an outcome too, and the state stands.
  take(text, ms) {
    if (this.lastMs !== null && ms - this.lastMs > IDLE_MS) this.state = FRESH;
    this.lastMs = ms;
    try {
      const code = readCode(text);
      const before = this.state;
      const [after, said] = reduce(before, code, this.known.facts(code, before.assembly), ms);
      this.state = after;
      if (said.commit) this.known.moved(said.commit, before.assembly);
      return said;
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      return outcome("refused", STOP, error.message, { loud: true, data: { code: error.code } });
    }
  }

  // From the server's word on, and what was scanned here since.
  restart(state, rows) {
    this.known.forget();
    this.state = { ...FRESH, ...state };
    for (const row of rows) this.take(row.code, row.ms);
  }
}
