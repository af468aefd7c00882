// Every code that is taken: kept on this device, said at once, sent, and put right by what
// the server answers.

import { changedView, changeShop, isBehind } from "./changing.js";
import { at } from "./elements.js";
import { fetchShop, fetchView, isShopOld } from "./fetching.js";
import { Queue } from "./queue.js";
import { show, showState } from "./showing.js";
import { quiet, say, write } from "./speaking.js";
import { state } from "./state.js";
import { keep, renumber } from "./store.js";
import { sound } from "./tones.js";
import { showUnsent } from "./unsent.js";
import { Waiting } from "./waiting.js";

export class Bench {
  constructor() {
    this.queue = new Queue({
      answer: (row, body) => this.answered(row, body),
      refused: (sentence) => say("stop", sentence, true),
      signedOut: () => say("stop", "You are signed out: sign in on another page. Nothing is lost.", true),
      change: () => this.count(),
    });
    this.waiting = new Waiting(this.queue, {
      take: (code) => this.take(code),
      words: (row) => state.said.get(row.id)?.sentence,
      freed: () => this.restart(),
      named: (person) => state.twin?.known.shop.people[String(person)] ?? "somebody else",
    });
    /** @type {[string, number][] | null} */
    this.early = [];
  }

  // The page may be scanned at before it knows whose bench it is: that waits, in order.
  async open(first = "") {
    const early = this.early ?? [];
    if (first) early.unshift([first, performance.now()]);
    for (let next = early.shift(); next; next = early.shift()) await this.takeNow(...next);
    this.early = null;
  }

  count() {
    const { queue, waiting } = this;
    showUnsent(queue.rows.length, queue.oldest, queue.trouble);
    waiting.show();
  }

  /**
   * Whether it is kept, or will be read in its turn.
   * @param {string} code
   * @returns {Promise<boolean>}
   */
  async take(code, heard = performance.now()) {
    if (!this.early) return this.takeNow(code, heard);
    this.early.push([code, heard]);
    write("neutral", `One moment: the bench opens, then this is read: ${code}`);
    return true;
  }

  /**
   * @param {string} code
   * @param {number} heard
   * @returns {Promise<boolean>}
   */
  async takeNow(code, heard) {
    quiet();
    if (this.queue.owner === null) {
      say("stop", "This bench is not ready yet: nothing was taken. Scan it again, or open the page again.", true);
      return false;
    }
    const ms = Date.now();
    const said = this.understood(code, ms);
    let row;
    try {
      row = await this.queue.add(code, ms, state.twin?.state.pending?.quantity ?? null);
    } catch {
      state.twin?.restart(state.view?.state, this.queue.own);
      say("stop", "This device cannot keep scans: nothing was taken. Free some space, or use another device.", true);
      return false;
    }
    state.said.set(row.id, said);
    say(said.tone, said.sentence, said.loud, about(said));
    performance.measure("scan-to-tone", { start: heard, end: performance.now() });
    if (state.twin) showState(state.twin.state);
    this.queue.send();
    return true;
  }

  /**
   * What the device says to a code by itself.
   * @param {string} code
   * @param {number} ms
   * @returns {Said}
   */
  understood(code, ms) {
    if (state.twin) return state.twin.take(code, ms);
    return { kind: "kept", tone: "neutral", sentence: `Kept here, not checked yet: ${code}`, loud: false };
  }

  /** @type {(row: Row, body: Answer) => void} */
  answered(row, body) {
    const here = state.said.get(row.id);
    state.said.delete(row.id);
    if (row.loaded) {
      this.loadedCame(row, body);
      return;
    }
    if (body.renumber) {
      this.numberAnew();
      return;
    }
    this.learnAnswer(body);
    // What the device said already is not said again; what only the record knows is.
    const same = here && here.tone === body.tone && here.kind === body.kind && here.loud === body.loud;
    if (!same && body.tone === "stop" && here) this.waiting.needs(row, body.sentence);
    if (!same) say(body.tone, body.sentence, body.loud, about(body));
    // And what was closed stays closed.
    else if (!this.queue.rows.length) write(body.tone, body.sentence, body.loud && !at("loud").hidden, body.kind);
    if (same) sound("tick");
  }

  /**
   * The whole view as the server has it; what was scanned here since is taken on top of it.
   * @param {View} view
   */
  learn(view) {
    state.view = view;
    keep("view", view).catch(() => {});
    const shop = state.twin?.known.shop;
    const { assembly } = view;
    const row = assembly && shop?.assemblies[assembly.id];
    for (const ask of assembly?.asks ?? []) {
      if (row) row.asks[ask.item] = ask.remaining;
      for (const bin of ask.bins) {
        const known = shop?.bins[bin.number];
        if (known) known.on_hand = bin.on_hand;
      }
    }
    this.restart();
    if (!this.queue.rows.length && isShopOld()) fetchShop([]);
  }

  /**
   * What one answer changes; the rest, where others made entries or another assembly was
   * opened, is fetched when nothing waits here.
   * @param {Answer} answer
   */
  learnAnswer(answer) {
    if (!state.view) return;
    if (answer.changed && state.twin) changeShop(state.twin.known.shop, answer.changed);
    state.view = changedView(state.view, answer);
    keep("view", state.view).catch(() => {});
    this.restart();
    if (this.queue.rows.length) return;
    if (isBehind(state.view, answer.newest)) this.lookAgain();
    else if (isShopOld()) fetchShop([]);
  }

  async lookAgain() {
    await fetchView();
    if (state.view) this.learn(state.view);
  }

  restart() {
    state.twin?.restart(state.view?.state, this.queue.own);
    if (state.view) show(state.view);
  }

  // Another device goes by the same number: this one gets its own, and so a bench of its own.
  async numberAnew() {
    await renumber();
    await this.lookAgain();
    say("stop", "This device was numbered anew and has a bench of its own now: open the assembly again.", true);
  }

  // A scan out of a file was for its own bench; this one is looked at again afterwards.
  /** @type {(row: Row, body: Answer) => Promise<void>} */
  async loadedCame(row, body) {
    if (body.tone === "stop") this.waiting.needs(row, body.sentence);
    sound("tick");
    if (this.queue.rows.some((each) => each.loaded)) return;
    await this.lookAgain();
  }

  listen() {
    at("send-now").addEventListener("click", () => this.queue.now());
    window.addEventListener("online", () => this.queue.now());
    setInterval(() => this.count(), 15000);
    this.waiting.listen();
  }
}

/** @param {{kind: string, data?: Record<string, any>}} said */
function about({ kind, data }) {
  return { ...data, kind };
}
