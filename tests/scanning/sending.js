// Sends one scan into each of these answers, without a browser: JSON in, JSON out.

import { stdin, stdout } from "node:process";
import { text } from "node:stream/consumers";
import { send } from "../../inventory/web/static/sending.js";

/** @type {{status: number, body?: string, content_type?: string, headers?: Record<string, string>}[]} */
const answers = JSON.parse(await text(stdin));
/** @type {Row} */
const row = { id: "1", code: "b12", ms: 1, shown: null, owner: 1 };
Object.assign(globalThis, { document: { cookie: "csrftoken=1" } });
const came = [];
for (const { status, body, content_type: type = "text/plain", headers } of answers) {
  const answer = new Response(body ?? null, { status, headers: { "Content-Type": type, ...headers } });
  globalThis.fetch = () => Promise.resolve(answer);
  came.push(await send(row));
}
stdout.write(JSON.stringify(came));
