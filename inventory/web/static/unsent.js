// How many scans of this device are not on the server yet: on every page, in the title.

import { at, make } from "./elements.js";
import { unsent } from "./store.js";

const LATE_MS = 60000;
const VERY_LATE_MS = 600000;
const title = document.title;

/** @param {number} ms */
function ageWords(ms) {
  const minutes = Math.round(ms / 60000);
  if (minutes < 1) return "just now";
  if (minutes < 90) return `${minutes} min old`;
  const hours = Math.round(minutes / 60);
  return hours < 48 ? `${hours} h old` : `${Math.round(hours / 24)} days old`;
}

/**
 * `trouble` says in words why nothing goes; "" while all is well.
 * @param {number} count
 * @param {number | null} oldest
 * @param {string} trouble
 */
export function showUnsent(count, oldest, trouble) {
  const bar = document.getElementById("unsent");
  const age = oldest === null ? 0 : Date.now() - oldest;
  document.title = count ? `(${count} not sent) ${title}` : title;
  document.body.dataset.unsent = String(count);
  if (!bar) return;
  const late = count && age > LATE_MS;
  const going = count && !late && !trouble;
  bar.className = `unsent ${count ? "waits" : "sent"}${going ? " going" : ""}${late ? " late" : ""}${count && age > VERY_LATE_MS ? " very-late" : ""}`;
  const words = count ? `${count} not sent, the oldest ${ageWords(age)}` : "All on the server";
  const why = count && trouble ? `. ${trouble}: they are kept here, in order; do not reload` : "";
  at("unsent-words").textContent = words + why;
  at("unsent-mark").textContent = count ? "⇡" : "✓";
  for (const id of ["send-now", "save-unsent"]) at(id).hidden = !(count && trouble);
}

// Leaving with scans unsent is asked about once more.
addEventListener("beforeunload", (event) => {
  if (Number(document.body.dataset.unsent || 0)) event.preventDefault();
});

// On a page that is not the bench: what this device still holds.
export async function showElsewhere() {
  const rows = await unsent().catch(() => []);
  if (!rows.length) return;
  const bar = make("p", "", "band unsent-elsewhere");
  const link = make("a", `${rows.length} scans of this device are not sent: open the bench to send them.`);
  link.href = "/bench/";
  bar.append(link);
  document.getElementById("main")?.prepend(bar);
  document.title = `(${rows.length} not sent) ${title}`;
}
