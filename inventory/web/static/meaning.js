// Plain words at the bench: '3/32 flush 7/32', a callout or a name, and the bins they mean.
// They only choose a bin: what is taken then is the bin's own code.

import { at, coded } from "./elements.js";
import { readCode } from "./reading.js";
import { CARDS } from "./saying.js";
import { write } from "./speaking.js";

const MOST = 8;
const NO_SIGN = "[^0-9a-z./-]";

/**
 * The bins that a text means, where it is no code: by a name, else by all its words. A word
 * that holds a digit is met whole, so that '-3' never finds '-3.5', nor '3/32' '13/32'.
 * @param {string} text
 * @param {Shop} shop
 */
export function binsMeant(text, shop) {
  if (!isForeign(text)) return [];
  const words = text.toLowerCase().replace(/,/g, " ").split(/\s+/).filter(Boolean);
  const named = (shop.names ?? {})[text.toUpperCase().split(/\s+/).filter(Boolean).join(" ")];
  const fits = words.map(asked);
  return Object.keys(shop.bins).map(Number).filter((number) => {
    const { item } = shop.bins[number];
    if (named !== undefined) return item === named;
    const said = ` ${shop.items[item].words.toLowerCase()} `;
    return fits.length > 0 && fits.every((word) => word.test(said));
  });
}

/**
 * What a label stands for, in words; its text where this device does not know it.
 * @param {string} text
 * @param {Shop | undefined} shop
 */
export function named(text, shop) {
  try {
    const { type, number } = readCode(text);
    const words = shop && WORDS[type]?.(shop, number);
    return words || text;
  } catch {
    return text;
  }
}

/** @type {Record<string, (shop: Shop, number: number) => string | undefined>} */
const WORDS = {
  B: (shop, number) => shop.bins[number] && binWords(number, shop),
  S: (shop, number) => shop.assemblies[number]?.name,
  T: (shop, number) => shop.bits[number],
  H: (shop, number) => shop.people[number],
  R: (_shop, number) => `order ${number}`,
  C: (_shop, number) => CARDS[number],
  N: (_shop, number) => `quantity ${number}`,
};

/** @type {(number: number, shop: Shop) => string} */
function binWords(number, shop) {
  return `bin ${number}: ${shop.items[shop.bins[number].item].words}`;
}

/** @param {string} text */
function isForeign(text) {
  try {
    return readCode(text).type === "foreign";
  } catch {
    return false;
  }
}

/** @param {string} word */
function asked(word) {
  const plain = word.replace(/[.*+?^${}()|[\]\\]/g, "\\$&");
  if (!/\d/.test(word)) return new RegExp(`[^a-z]${plain}`);
  const before = /^[a-z]/.test(word) ? "" : NO_SIGN;
  return new RegExp(`${before}${plain}${NO_SIGN}`);
}

/**
 * Take the one bin that a text means; where there are several, let a person choose.
 * @param {string} text
 * @param {Shop | undefined} shop
 * @param {(code: string) => void} take
 */
export function takeMeant(text, shop, take) {
  const numbers = shop ? binsMeant(text, shop) : [];
  at("found").hidden = true;
  if (!shop || numbers.length < 2) {
    take(numbers.length ? `b${numbers[0]}` : text);
    return;
  }
  const more = numbers.length - MOST;
  write("neutral", `${numbers.length} bins fit '${text.slice(0, 40)}': which one?${more > 0 ? " Say more of it." : ""}`);
  at("found").replaceChildren(...numbers.slice(0, MOST).map((number) => (
    coded(binWords(number, shop), `b${number}`)
  )));
  at("found").hidden = false;
}
