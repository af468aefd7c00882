// The shop as this device knows it, and what that says of one code.
// The same as scanning/rules/facts.py, held to it by one table of stories.

import { LIMITS, REASONS, Refused, say } from "./saying.js";

export class Known {
  /** @param {Shop} shop */
  constructor(shop) {
    this.shop = shop;
    this.forget();
  }

  // What was taken here and is not in the shop's figures yet.
  forget() {
    /** @type {Record<string, number>} */
    this.bins = {};
    /** @type {Record<string, number>} */
    this.asks = {};
    /** @type {Record<string, number>} */
    this.came = {};
  }

  /** @param {number} number */
  held(number) {
    return Math.max(0, this.shop.bins[number].on_hand + (this.bins[number] || 0));
  }

  /**
   * @param {number} assembly
   * @param {number} item
   */
  asked(assembly, item) {
    const asked = this.shop.assemblies[assembly]?.asks[item];
    if (asked === undefined) return undefined;
    return Math.max(0, asked + (this.asks[`${assembly} ${item}`] || 0));
  }

  /** @param {number} item */
  where(item) {
    const numbers = Object.keys(this.shop.bins).filter((at) => this.shop.bins[at].item === item);
    if (!numbers.length) return "";
    const first = Math.min(...numbers.map(Number));
    const { spot } = this.shop.bins[first];
    return spot ? `bin ${first}, ${spot}` : `bin ${first}`;
  }

  /**
   * @param {Code} code
   * @param {BenchState} bench
   * @returns {Facts}
   */
  facts(code, bench) {
    const { number } = code;
    if (code.type === "B") return { bin: this.bin(number, bench) };
    if (bench.pending && "CR".includes(code.type)) return { owed: this.owed(bench.pending.item) };
    if (code.type === "R" && number) return { supplier: this.supplier(number) };
    if (code.type === "S") return { assemblyName: this.openAssembly(number).name };
    if (code.type === "T") {
      const words = this.shop.bits[number];
      if (words === undefined) throw new Refused("forecasting.no_bit", say("no_bit", { number }));
      return { bitWords: words };
    }
    if (code.type === "H") {
      const person = this.shop.people[number];
      if (person === undefined) throw new Refused("scan.no_person", say("no_person"));
      return { person };
    }
    return {};
  }

  /** @param {number} number */
  openAssembly(number) {
    const row = this.shop.assemblies[number];
    if (!row) throw new Refused("planning.no_assembly", say("no_assembly", { number }));
    if (row.closed) throw new Refused("planning.closed", say("closed", { name: row.name }));
    return row;
  }

  /**
   * The orders that still wait for an item, less what came here and is not in the figures yet.
   * @param {number} item
   * @returns {OrderRow[]}
   */
  owed(item) {
    /** @type {OrderRow[]} */
    const rows = [];
    for (const [number, pieces, supplier] of this.shop.owed?.[item] ?? []) {
      const came = this.came[`${number} ${item}`];
      if (came === undefined) rows.push([number, pieces, supplier]);
      else if (pieces > came) rows.push([number, pieces - came, supplier]);
    }
    return rows;
  }

  /** @param {number} number */
  supplier(number) {
    for (const rows of Object.values(this.shop.owed ?? {})) {
      const row = rows.find(([order]) => order === number);
      if (row) return row[2];
    }
    throw new Refused("scan.no_order", say("no_such_order", { number }));
  }

  /**
   * @param {number} number
   * @param {BenchState} bench
   * @returns {BinFacts}
   */
  bin(number, { assembly, verb }) {
    const row = this.shop.bins[number];
    if (!row) throw new Refused("ledger.no_bin", say("no_bin", { number }));
    const item = this.shop.items[row.item];
    const mine = assembly === null ? undefined : this.asked(assembly, row.item);
    let asked = mine ?? null;
    if (item.tool) asked = item.single ? 1 : this.holds(assembly, row.item);
    return {
      number,
      item: row.item,
      words: item.words,
      held: this.held(number),
      asked,
      isAskedFor: mine !== undefined,
      instead: mine === undefined ? this.instead(item, assembly) : null,
      isTool: item.tool,
      mind: this.mind(row.item),
      usual: item.usual || 0,
      cold: item.cold || "",
      owed: verb === "receive" ? this.owed(row.item) : [],
    };
  }

  /**
   * @param {number | null} assembly
   * @param {number} item
   */
  holds(assembly, item) {
    const wanted = assembly === null ? 0 : this.shop.assemblies[assembly]?.holds[item];
    return wanted ? Math.max(0, wanted + (this.asks[`${assembly} ${item}`] || 0)) || null : null;
  }

  /**
   * The look-alike that is asked for, if any: half a length off is the trap.
   * @param {ItemRow} item
   * @param {number | null} assembly
   */
  instead(item, assembly) {
    for (const [other, differs] of item.alike) {
      if (assembly !== null && this.asked(assembly, other)) {
        return { item: other, words: this.shop.items[other].words, where: this.where(other), differs };
      }
    }
    return null;
  }

  /**
   * The look-alikes that stand in bins: 'bin 13 is half a length shorter'.
   * @param {number} item
   */
  mind(item) {
    const said = [];
    for (const [other] of this.shop.items[item].alike) {
      const [where] = this.where(other).split(",");
      const differs = this.shop.items[other].alike.find(([id]) => id === item)?.[1];
      if (where && differs) said.push(say("look_alike", { where, differs }));
    }
    return said.slice(0, LIMITS.minded).join("; ");
  }

  /**
   * What a commit changes of what is held and asked, until the server says so itself.
   * @param {Commit} commit
   * @param {number | null} assembly
   */
  moved(commit, assembly) {
    const row = this.shop.bins[commit.bin];
    if (!row) return;
    const { quantity, verb } = commit;
    const item = commit.instead ?? row.item;
    const planned = assembly !== null && commit.reason !== REASONS.elsewhere;
    const held = (/** @type {number} */ by) => {
      this.bins[commit.bin] = (this.bins[commit.bin] || 0) + by;
    };
    const asked = (/** @type {number} */ by) => {
      const key = `${assembly} ${item}`;
      if (planned) this.asks[key] = (this.asks[key] || 0) + by;
    };
    if (verb === "pull") { held(-Math.min(quantity, this.held(commit.bin))); asked(-quantity); }
    if (verb === "return") { held(quantity); asked(quantity); }
    if (verb === "receive") { held(quantity); this.arrived(`${commit.order} ${item}`, quantity); }
    if (verb === "count") held(quantity - this.held(commit.bin));
    if (verb === "scrap") { if (assembly !== null) asked(quantity); else held(-quantity); }
  }

  /** @type {(key: string, quantity: number) => void} */
  arrived(key, quantity) {
    this.came[key] = (this.came[key] ?? 0) + quantity;
  }
}
