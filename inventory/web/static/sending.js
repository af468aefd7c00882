// One scan sent to the server, and what came back: its answer to this very scan, or a
// failure, which says nothing of the scan. Only an answer may end a scan's wait.
// And pictures, whose codes the server reads.

const PATIENCE_MS = 20000;

function token() {
  const found = /(?:^|; )csrftoken=([^;]*)/.exec(document.cookie);
  return found ? found[1] : "";
}

/**
 * Resolves to an answer, a refusal or a failure, which is words for a person.
 * @param {Row} row
 * @returns {Promise<Came>}
 */
export async function send(row) {
  const patience = new AbortController();
  const timer = setTimeout(() => patience.abort(), PATIENCE_MS);
  try {
    const response = await fetch("/api/v1/scans", {
      method: "POST",
      headers: { "Content-Type": "application/json", "X-CSRFToken": token() },
      body: JSON.stringify({
        id: row.id, code: row.code, ms: row.ms, shown: row.shown ?? null, device: row.device, seq: row.seq, sent_ms: Date.now(),
      }),
      signal: patience.signal,
    });
    return judged(response, await response.text());
  } catch {
    return { failure: patience.signal.aborted ? "The server does not answer" : "No connection" };
  } finally {
    clearTimeout(timer);
  }
}

/**
 * @param {Response} response
 * @param {string} text
 * @returns {Came}
 */
function judged(response, text) {
  const body = parsed(text);
  if (response.ok && isAnswer(body)) return { answer: body };
  if (isRefusal(response, body)) return { refusal: body };
  const { status } = response;
  if (status === 401 || status === 403) return { failure: "You are signed out: sign in on another page", signedOut: true };
  if (response.ok) return { failure: "Something else than the shop answers" };
  const fault = response.headers.get("Fault") ?? body?.data?.fault;
  const named = typeof fault === "string" ? `${status}, fault ${fault}` : `${status}`;
  return { failure: status < 500 ? `The server does not take scans now (${named})` : `The server fails (${named})` };
}

/** @param {string} text */
function parsed(text) {
  try {
    return JSON.parse(text);
  } catch {
    return null;
  }
}

/** @param {any} body */
function isAnswer(body) {
  return typeof body?.kind === "string" && typeof body.sentence === "string"
    && typeof body.loud === "boolean" && ["taken", "stop", "neutral"].includes(body.tone) && typeof body.bench?.state === "object";
}

/**
 * The shop read this scan and will not take it. What only the door says (who asks, how
 * often, at which address, of what length) may be otherwise the next time: a failure.
 * @param {Response} response
 * @param {any} body
 */
function isRefusal(response, body) {
  const type = response.headers.get("Content-Type") ?? "";
  return response.status >= 400 && response.status < 500 && type.startsWith("application/problem+json")
    && /^[a-z]+\.\w+$/.test(body?.code) && typeof body.detail === "string"
    && (!body.code.startsWith("api.") || body.code === "api.shape");
}

/**
 * The codes in a picture; nothing moves by it.
 * @param {Blob} picture
 */
export async function readPhoto(picture) {
  const body = new FormData();
  body.append("photo", picture, "photo.jpg");
  const response = await fetch("/api/v1/photos", {
    method: "POST", headers: { "X-CSRFToken": token() }, body,
  });
  return { ok: response.ok, answer: await response.json() };
}
