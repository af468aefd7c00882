// Folds a bench's answers into the view it began with, as the page does; JSON in and out.

import { stdin, stdout } from "node:process";
import { text } from "node:stream/consumers";
import { changedView, isBehind } from "../../inventory/web/static/changing.js";

/** @type {{view: View, answers: Answer[]}} */
const { view, answers } = JSON.parse(await text(stdin));
const seen = [];
let known = view;
for (const answer of answers) {
  known = changedView(known, answer);
  seen.push({ view: known, behind: isBehind(known, answer.newest) });
}
stdout.write(JSON.stringify(seen));
