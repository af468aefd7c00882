// How the bench stands, on the page: its person, what is open, what is asked, what was done.

import { at, coded, hour, make } from "./elements.js";
import { state } from "./state.js";

/** @param {View} bench */
export function show(bench) {
  const { last } = bench;
  // Another one's list is not shown under this one's name.
  const assembly = bench.assembly?.id === bench.state.assembly ? bench.assembly : null;
  at("person").textContent = bench.person;
  at("asks-section").hidden = at("asks-link").hidden = !assembly;
  if (assembly) {
    at("close-link").setAttribute("href", `/assemblies/${assembly.id}/close-up/`);
    at("asks").replaceChildren(...assembly.asks.map(askRow));
  }
  at("last").replaceChildren(...last.map(actRow));
  if (!last.length) at("last").append(make("li", "Nothing yet."));
  showState(state.twin ? state.twin.state : bench.state);
}

/** @param {BenchState} bench */
export function showState(bench) {
  showPending(bench);
  for (const button of at("verbs").querySelectorAll("button")) {
    button.setAttribute("aria-pressed", String(button.dataset.verb === bench.verb));
  }
  at("why").hidden = !isWrong(bench);
  at("why-instead").hidden = !bench.pending?.instead;
  at("reasons").hidden = bench.assembly !== null || bench.verb !== "pull";
  at("bit-events").hidden = bench.bit === null;
  at("sights").hidden = !bench.pending;
  for (const button of at("bench").querySelectorAll("button")) {
    const { reason } = button.dataset;
    if (reason) button.setAttribute("aria-pressed", String(reason === bench.reason));
  }
  showTwin(bench);
}

/**
 * What only this device knows yet: the assembly and the badge it has heard since.
 * @param {BenchState} bench
 */
function showTwin(bench) {
  const shop = state.twin?.known.shop;
  at("where").textContent = whereWords(bench, shop);
  const name = bench.person === null ? undefined : shop?.people[bench.person];
  if (name) at("person").textContent = name;
}

/** @type {(bench: BenchState, shop: Shop | undefined) => string} */
function whereWords({ assembly, order, verb }, shop) {
  if (order !== null) return `receiving order ${order}`;
  const shown = state.view?.assembly;
  if (assembly !== null && shown?.id === assembly) return `${shown.stage} / ${shown.name}`;
  if (assembly !== null) return shop?.assemblies[assembly]?.name ?? "";
  return verb === "receive" ? "receiving" : "no assembly is open: what is pulled counts as outside the plan";
}

/** @param {BenchState} bench */
function isWrong(bench) {
  return Boolean(bench.pending?.wrong) && bench.verb === "pull";
}

/** @param {BenchState} bench */
function showPending(bench) {
  const { pending, verb } = bench;
  at("pending").hidden = !pending;
  if (!pending) at("pending").classList.remove("other");
  if (!pending) return;
  const { bin, words, quantity, asked } = pending;
  // With an order in hand there is nothing to choose.
  showOrders(verb === "receive" && bench.order === null ? pending : null);
  at("pending-verb").textContent = verb === "pull" ? `pull from bin ${bin}` : `${verb}, bin ${bin}`;
  at("pending-words").textContent = words;
  at("pending-count").textContent = quantity === null ? "how many?" : quantity.toLocaleString("en-US");
  at("pending-asked").textContent = asked ? `asked ${asked.toLocaleString("en-US")}` : "";
  at("pending").classList.toggle("wrong", isWrong(bench));
  at("pending").classList.toggle("counted", quantity !== null);
}

/**
 * The orders that what came may belong to, to choose from.
 * @param {Pending | null} pending
 */
function showOrders(pending) {
  const owed = pending?.owed ?? [];
  const only = owed.length === 1 ? owed[0][0] : null;
  at("which").hidden = !owed.length && !pending?.order;
  const rows = owed.map(([number, pieces, supplier]) => orderChoice(
    `Order ${number}: ${pieces ? `${pieces}, ` : ""}${supplier}`, `order ${number}`, (pending?.order ?? only) === number,
  ));
  at("which").replaceChildren(...rows, orderChoice("No order", "no order", pending?.order === 0));
}

/** @type {(words: string, code: string, isChosen: boolean) => HTMLElement} */
function orderChoice(words, code, isChosen) {
  const choice = coded(words, code);
  choice.setAttribute("aria-pressed", String(isChosen));
  return choice;
}

/** @param {Ask} ask */
function askRow(ask) {
  const row = make("li", "", ask.remaining ? "" : "done");
  row.append(make("span", ask.remaining ? String(ask.remaining) : "✓ 0", "left"));
  const said = make("span", "", "words");
  said.append(make("b", ask.words), " ", make("span", ask.callout, "callout"));
  said.append(make("small", `${ask.pulled} of ${ask.need} pulled`));
  row.append(said);
  for (const bin of ask.bins) {
    row.append(coded(`bin ${bin.number}`, `b${bin.number}`), make("small", `${bin.spot} (${bin.on_hand})`));
  }
  if (!ask.bins.length) row.append(make("b", "no bin"), ...waysOn(ask.callout || ask.words));
  return row;
}

/**
 * What to do about what no bin holds.
 * @param {string} what
 */
function waysOn(what) {
  return [["Make a bin", "/bins/new/"], ["Order it", "/orders/new/"]].map(([words, page]) => {
    const way = make("a", words, "button second");
    way.href = `${page}?callout=${encodeURIComponent(what)}`;
    return way;
  });
}

/** @param {Act} act */
function actRow(act) {
  const row = make("li");
  const said = make("span", "", act.undone ? "words undone" : "words");
  const where = act.bin === null ? "" : ` bin ${act.bin}`;
  const what = act.verb === "look" ? `look: ${act.reason}` : `${act.verb} ${act.quantity}`;
  said.append(make("b", what), ` ${act.words}${where}`);
  row.append(make("small", hour(act.at)), said, make("small", act.to ? `to ${act.to}` : ""));
  if (act.reason && act.verb !== "look") row.append(make("small", act.reason));
  if (act.undone) row.append(make("span", "taken back", "tag"));
  else row.append(coded(act.verb === "undo" ? "Put back" : "Undo", `undo ${act.id}`));
  return row;
}
