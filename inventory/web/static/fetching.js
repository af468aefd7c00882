// What the server knows of this bench and of the whole shop, and what was kept of it here.

import { state } from "./state.js";
import { deviceId, keep, kept } from "./store.js";
import { Twin } from "./twin.js";

const OLD_MS = 120000;

/** @param {Row[]} rows what was scanned here and is not on the server */
export async function fetchShop(rows) {
  try {
    const response = await fetch("/api/v1/bench/shop");
    if (!response.ok) return;
    /** @type {Shop} */
    const shop = await response.json();
    state.shopAt = Date.now();
    state.twin = new Twin(shop, state.view?.state);
    state.twin.restart(state.view?.state, rows);
    await keep("shop", shop);
  } catch {
    // The shop of last time stands.
  }
}

export function isShopOld() {
  return Date.now() - state.shopAt > OLD_MS;
}

// Resolves to the answer's status; 0 without a connection. An answer to a scan that came
// meanwhile knows more.
export async function fetchView() {
  const before = state.view;
  try {
    const response = await fetch(`/api/v1/bench?device=${await deviceId()}`);
    if (!response.ok) return response.status;
    /** @type {View} */
    const view = await response.json();
    if (state.view !== before) return 200;
    state.view = view;
    await keep("view", view);
    return 200;
  } catch {
    return 0;
  }
}

// The bench as this device saw it last.
export async function recall() {
  state.view = (await kept("view")) ?? null;
  const shop = await kept("shop");
  if (shop) state.twin = new Twin(shop, state.view?.state);
}
