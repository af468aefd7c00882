// The sentences, cards and limits that server and device share, and refusals in words.

import DATA from "./bench-data.js";

export const { limits: LIMITS, done: DONE } = DATA;
/** @type {Record<string, string>} */
export const REASONS = DATA.reasons;
/** @type {Record<string, string>} */
export const ELSEWHERE = DATA.elsewhere;
/** @type {Readonly<Record<number, string>>} */
export const ACTIONS = Object.fromEntries(DATA.cards.map((card) => [card.number, card.does]));

/** @type {Readonly<Record<number, string>>} */
export const CARDS = Object.fromEntries(DATA.cards.map((card) => [card.number, card.word]));

/**
 * The sentence of this name, with its gaps filled.
 * @param {keyof typeof DATA.sentences} name
 * @param {Record<string, string | number>} [values]
 */
export function say(name, values = {}) {
  return DATA.sentences[name].replace(/\{(\w+)\}/g, (_gap, key) => parted(key, values[key]));
}

// A quantity's thousands are parted; what a bin or an order is called are no such.
/** @type {(key: string, value: unknown) => string} */
function parted(key, value) {
  return typeof value === "number" && key !== "number" ? value.toLocaleString("en-US") : String(value);
}

export class Refused extends Error {
  /**
   * @param {string} code
   * @param {string} sentence
   */
  constructor(code, sentence) {
    super(sentence);
    this.code = code;
  }
}

/**
 * @param {string} kind
 * @param {Tone} tone
 * @param {string} sentence
 * @param {Partial<Outcome>} [more]
 * @returns {Outcome}
 */
export function outcome(kind, tone, sentence, more = {}) {
  return { kind, tone, sentence, loud: false, commit: null, data: {}, ...more };
}
