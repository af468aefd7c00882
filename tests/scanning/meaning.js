// The bins that each text means in a shop, and what it is called; JSON in and out.

import { stdin, stdout } from "node:process";
import { text } from "node:stream/consumers";
import { binsMeant, named } from "../../inventory/web/static/meaning.js";

/** @type {{shop: Shop, texts: string[]}} */
const { shop, texts } = JSON.parse(await text(stdin));
stdout.write(JSON.stringify(texts.map((each) => [binsMeant(each, shop), named(each, shop)])));
