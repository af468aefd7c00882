// Tells stories to the device's twin, without a browser: one JSON in, one JSON out.

import { stdin, stdout } from "node:process";
import { text } from "node:stream/consumers";
import { Twin } from "../../inventory/web/static/twin.js";

/** @type {{shop: Shop, stories: [string, number][][]}} */
const { shop, stories } = JSON.parse(await text(stdin));
const heard = stories.map((steps) => {
  const twin = new Twin(shop);
  return steps.map(([code, ms]) => {
    const said = twin.take(code, ms);
    return [said.kind, said.tone, said.loud, said.sentence, structuredClone(twin.state)];
  });
});
stdout.write(JSON.stringify(heard));
