// Speaking with the server: what goes out, and what comes back when it refuses.

// error: {kind, what, where, do}. status 0: nobody answered.
export class Refusal extends Error {
  constructor(status, error, answer = {}) {
    super(error.what);
    this.status = status;
    this.error = error;
    this.answer = answer;
  }
}

const SILENT = {
  kind: "no-answer",
  what: "the machine that runs scribe doesn't answer",
  where: "",
  do: "see that it is on, that scribe serve still runs there, and that both are in one network",
};

const body = document.body.dataset;

export const job = { id: body.job, version: body.version, root: `/api/jobs/${body.job}` };

export async function ask(method, path, content, { version, raw, signal } = {}) {
  const headers = {};
  if (method !== "GET") headers["If-Match"] = `"${version ?? job.version}"`;
  if (content !== undefined && !raw) headers["Content-Type"] = "application/json";
  let answer;
  try {
    answer = await fetch(path, {
      method,
      headers,
      body: content === undefined || raw ? content : JSON.stringify(content),
      credentials: "same-origin",
      keepalive: method !== "GET" && !raw, // what was asked for is done, though the page moves on
      signal,
    });
  } catch (fault) {
    if (fault.name === "AbortError") throw fault;
    throw new Refusal(0, SILENT);
  }
  const told = await understood(answer);
  if (!answer.ok) throw new Refusal(answer.status, told.error ?? unsaid(answer), told);
  const kept = told.job ?? told;
  if (kept.version && kept.id === job.id) job.version = kept.version;
  return told;
}

async function understood(answer) {
  const kind = answer.headers.get("Content-Type") ?? "";
  if (!kind.includes("json")) return {};
  return answer.json();
}

function unsaid(answer) {
  if (answer.status === 403) {
    return {
      kind: "locked",
      what: "the page was started anew and has another secret now",
      where: "the page",
      do: "open the new address that scribe serve shows",
    };
  }
  return {
    kind: "unknown",
    what: `the machine answered with the status ${answer.status}`,
    where: "the page",
    do: "load the page again",
  };
}

// "2,5" and "2.5" are numbers; "6 cm" stays as it was typed and is read by the machine.
export function typed(text) {
  const trimmed = text.trim();
  if (trimmed === "") return null;
  return /^[-+]?(\d+([.,]\d*)?|[.,]\d+)$/.test(trimmed) ? Number(trimmed.replace(",", ".")) : trimmed;
}
