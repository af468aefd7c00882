// The bins that each text means in a shop; JSON in and out.

import { stdin, stdout } from "node:process";
import { text } from "node:stream/consumers";
import { binsMeant } from "../../inventory/web/static/meaning.js";

/** @type {{shop: Shop, texts: string[]}} */
const { shop, texts } = JSON.parse(await text(stdin));
stdout.write(JSON.stringify(texts.map((each) => binsMeant(each, shop))));
