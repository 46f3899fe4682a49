// What is typed or chosen goes into the job at once. A change names the version it was made on;
// what cannot be sent waits in this browser and goes out when the machine answers again.

import { Refusal, ask, job, typed } from "./ask.js";
import { refresh } from "./live.js";
import { beside, sentence, state, tell, untell } from "./told.js";

const KEPT = `scribe-unsent-${job.id}`;
let sending = Promise.resolve();

function unsent() {
  try {
    return JSON.parse(localStorage.getItem(KEPT) ?? "[]");
  } catch {
    return [];
  }
}

function keep(list) {
  if (list.length) localStorage.setItem(KEPT, JSON.stringify(list));
  else localStorage.removeItem(KEPT);
}

// changes: [{at, to}]; field: the control beside which a refusal is said. True when it's saved.
export function change(changes, field = null) {
  sending = sending.then(() => sent(changes, field));
  return sending;
}

async function sent(changes, field, version = job.version) {
  state("Saving ...");
  try {
    await ask("PATCH", job.root, { changes }, { version });
    if (field) beside(field, null);
    untell();
    state("Saved");
    await refresh();
    return true;
  } catch (refusal) {
    if (!(refusal instanceof Refusal)) throw refusal;
    return refused(refusal, changes, field, version);
  }
}

function refused(refusal, changes, field, version) {
  if (refusal.status === 0) {
    keep([...unsent(), { path: "change", changes, version }]);
    state("Not sent yet");
    tell({ ...refusal.error, do: `your change is kept here and sent as soon as it does; ${refusal.error.do}` });
  } else if (refusal.status === 409 && refusal.answer.conflicts) {
    state("Changed elsewhere");
    conflicting(refusal, changes, field);
  } else {
    state("Not saved");
    if (field) beside(field, sentence(refusal.error));
    else tell(refusal.error);
  }
  return false;
}

function conflicting(refusal, changes, field) {
  const theirs = refusal.answer.conflicts.map((each) => shown(each.theirs)).join(", ");
  const mine = refusal.answer.conflicts.map((each) => shown(each.yours)).join(", ");
  const version = refusal.answer.job?.version;
  const error = {
    what: `this was changed in another window meanwhile: there it is ${theirs}, here ${mine}`,
    where: "",
    do: "say which one counts",
  };
  tell(error, [
    [`Here: ${mine}`, () => sent(changes, field, version)],
    [`There: ${theirs}`, () => location.reload()],
  ]);
}

const shown = (value) => (value === null || value === undefined ? "nothing" : typeof value === "object" ? "another one" : String(value));

export async function sendKept(ticks) {
  const waiting = unsent();
  keep([]);
  for (const [k, each] of waiting.entries()) {
    if (!(await sent(each.changes, null, each.version)) && unsent().length) {
      keep([...unsent(), ...waiting.slice(k + 1)]);
      return false;
    }
  }
  return true;
}

export const anythingKept = () => unsent().length > 0;

function valueOf(field) {
  if (field.dataset.kind === "tick") return field.checked ? field.value : null;
  if (field.dataset.kind === "word") return field.value.trim() || null;
  return typed(field.value);
}

// What is plainly wrong is said before anything is sent.
function fault(field, value) {
  if (value === null && field.dataset.needed !== undefined) return "This can't be left empty.";
  if (field.dataset.kind === "length" && typeof value === "string" && !/\d/.test(value)) {
    return "Write a length: 60, 6 cm, 2 3/8 in.";
  }
  if (typeof value === "number" && field.dataset.least !== undefined && value < Number(field.dataset.least)) {
    return `That has to be ${field.dataset.least} or more.`;
  }
  return null;
}

export function changedField(field) {
  const value = valueOf(field);
  const wrong = fault(field, value);
  beside(field, wrong);
  if (wrong) return Promise.resolve(false);
  return change([{ at: JSON.parse(field.dataset.at), to: value }], field);
}

// Every control with data-at below root is sent when it was changed, while typing after a rest.
export function bindFields(root, { rest = 500, ready = () => true } = {}) {
  const clocks = new WeakMap();
  const last = new WeakMap();
  const go = (field) => {
    clearTimeout(clocks.get(field));
    if (!ready() || last.get(field) === String(valueOf(field))) return;
    last.set(field, String(valueOf(field)));
    changedField(field);
  };
  root.addEventListener("focusin", ({ target }) => {
    if (target.dataset.at && !last.has(target)) last.set(target, String(valueOf(target)));
  });
  root.addEventListener("input", ({ target }) => {
    if (!target.dataset.at || target.matches("[type=radio], [type=checkbox], select")) return;
    clearTimeout(clocks.get(target));
    clocks.set(target, setTimeout(() => go(target), rest));
  });
  root.addEventListener("change", ({ target }) => {
    if (!target.dataset.at || !ready()) return;
    if (target.matches("[type=radio], [type=checkbox], select")) changedField(target);
    else go(target);
  });
}
