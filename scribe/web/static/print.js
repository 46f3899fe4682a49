// The print's screen: what the check bars read is kept together, both of them.

import { Refusal, ask, job, typed } from "./ask.js";
import { settled } from "./drafts.js";
import { refresh, whenFresh } from "./live.js";
import "./page.js";
import { beside, sentence, state, tell, untell } from "./told.js";

async function keep(event) {
  event.preventDefault();
  const form = event.target;
  const missing = [form.x, form.y].filter((field) => typed(field.value) === null);
  [form.x, form.y].forEach((field) => beside(field, null));
  if (missing.length) {
    missing.forEach((field) => beside(field, "Type what both bars read."));
    missing[0].focus();
    return;
  }
  state("Saving ...");
  try {
    await ask("POST", `${job.root}/printer`, { x: form.x.value.trim(), y: form.y.value.trim() });
    settled(form);
    untell();
    state("Saved");
    await refresh();
  } catch (refusal) {
    if (!(refusal instanceof Refusal)) throw refusal;
    state("Not saved");
    if (refusal.status === 422) beside(form.elements[refusal.error.where] ?? form.x, sentence(refusal.error));
    else tell(refusal.error);
  }
}

whenFresh(() => {
  const form = document.getElementById("printer");
  if (form) form.onsubmit = keep;
});
