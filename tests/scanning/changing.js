// Folds a bench's answers into the view it began with, as the page does; JSON in and out.

import { stdin, stdout } from "node:process";
import { text } from "node:stream/consumers";
import { changedView, isBehind } from "../../inventory/web/static/changing.js";

/** @type {{view: View, answers: Answer[]}} */
const { view, answers } = JSON.parse(await text(stdin));
/**
 * @param {View} known
 * @param {Answer[]} rest
 * @returns {{view: View, behind: boolean}[]}
 */
function seen(known, [answer, ...rest]) {
  if (!answer) return [];
  const next = changedView(known, answer);
  return [{ view: next, behind: isBehind(next, answer.newest) }, ...seen(next, rest)];
}

stdout.write(JSON.stringify(seen(view, answers)));
