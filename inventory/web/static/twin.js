// The bench as this device sees it: what the server will say of a code, said at once.

import { Known } from "./known.js";
import { readCode } from "./reading.js";
import { FRESH, reduce } from "./reducing.js";
import { LIMITS, Refused, outcome } from "./saying.js";

// A bench that nobody used for so long is free again.
const IDLE_MS = LIMITS.idle_hours * 3600 * 1000;

export class Twin {
  /**
   * @param {Shop} shop
   * @param {Partial<BenchState>} [state]
   */
  constructor(shop, state = FRESH) {
    this.known = new Known(shop);
    /** @type {BenchState} */
    this.state = { ...FRESH, ...state };
    /** @type {number | null} */
    this.lastMs = null;
  }

  /**
   * Takes one code; a refusal is an outcome too, and the state stands.
   * @param {string} text
   * @param {number} ms
   * @returns {Outcome}
   */
  take(text, ms) {
    if (this.lastMs !== null && ms - this.lastMs > IDLE_MS) this.state = FRESH;
    this.lastMs = ms;
    try {
      const code = readCode(text);
      const before = this.state;
      const [after, said] = reduce(before, code, this.known.facts(code, before), ms);
      this.state = after;
      if (said.commit) this.known.moved(said.commit, before.assembly);
      return said;
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      return outcome("refused", "stop", error.message, { loud: true, data: { code: error.code } });
    }
  }

  /**
   * From the server's word on, and what was scanned here since.
   * @param {Partial<BenchState> | undefined} state
   * @param {Row[]} rows
   */
  restart(state, rows) {
    this.known.forget();
    this.state = { ...FRESH, ...state };
    for (const row of rows) this.take(row.code, row.ms);
  }
}
