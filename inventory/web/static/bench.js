// The bench begins: what it knew is recalled, what the server knows is fetched, it listens.

import { offerAssemblies } from "./choosing.js";
import { at, input } from "./elements.js";
import { fetchShop, fetchView, recall } from "./fetching.js";
import { forgetKeyed, hear } from "./hearing.js";
import { takeMeant } from "./meaning.js";
import { see } from "./seeing.js";
import { say } from "./speaking.js";
import { state } from "./state.js";
import { Bench } from "./taking.js";

async function begin() {
  const bench = new Bench();
  /** @param {string} code */
  const take = (code, heard = performance.now()) => {
    forgetKeyed();
    return takeMeant(code, state.twin?.known.shop, (meant) => bench.take(meant, heard));
  };
  input("scan").focus();
  hear(take);
  see(take);
  offerAssemblies();
  bench.listen();
  await recall().catch(() => say("stop", "This device keeps no scans between pages: nothing can be taken.", true));
  const status = await fetchView();
  if (state.view) await bench.queue.load(state.view.owner);
  await bench.waiting.load().catch(() => {});
  if (status === 200) await fetchShop(bench.queue.own);
  bench.restart();
  if (status === 0) say("neutral", "No connection: what you scan is kept here and sent later.");
  if (status >= 500) say("neutral", "The server fails: what you scan is kept here and sent later.");
  const { dataset } = at("bench");
  dataset.ready = "1";
  if (dataset.choose) history.replaceState(null, "", location.pathname);
  await bench.open(dataset.choose);
  bench.queue.send();
}

// The page itself goes on without a connection where the browser lets it.
if (navigator.serviceWorker) {
  navigator.serviceWorker.register("/bench-offline.js", { scope: "/" }).catch(() => {});
}
begin();
