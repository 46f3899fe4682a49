// The list of jobs: begin one, or bring one in.

import { Refusal, ask } from "./ask.js";
import { settled } from "./drafts.js";
import { dated } from "./page.js";
import { beside, sentence, state, tell } from "./told.js";

document.querySelectorAll("time[datetime]").forEach(dated);

document.getElementById("new-job").addEventListener("submit", async (event) => {
  event.preventDefault();
  const field = document.getElementById("name");
  const name = field.value.trim();
  beside(field, name ? null : "Give the job a name.");
  if (!name) {
    field.focus();
    return;
  }
  await opened(() => ask("POST", "/api/jobs", { name }), field);
});

document.addEventListener("click", async ({ target }) => {
  const button = target.closest("[data-remove]");
  if (!button) return;
  // One press asks, the second does it.
  if (!button.dataset.asked) {
    button.dataset.asked = "yes";
    button.lastChild.textContent = "Really set it aside?";
    return;
  }
  try {
    await ask("POST", `/api/jobs/${button.dataset.remove}/remove`);
    location.reload();
  } catch (refusal) {
    if (!(refusal instanceof Refusal)) throw refusal;
    tell(refusal.error);
  }
});

document.getElementById("import").addEventListener("change", async ({ target }) => {
  const file = target.files[0];
  target.value = "";
  if (file) await opened(() => ask("POST", "/api/import", file, { raw: true }));
});

async function opened(act, field) {
  state("Saving ...");
  try {
    const made = await act();
    settled(document);
    location.assign(made.href ?? `/jobs/${made.id}`);
  } catch (refusal) {
    if (!(refusal instanceof Refusal)) throw refusal;
    state("");
    if (field && refusal.status === 422) beside(field, sentence(refusal.error));
    else tell(refusal.error);
  }
}
