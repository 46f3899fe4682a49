// The photos' screen: what they show, and each photo sent as it was taken.

import { Refusal, ask, job, typed } from "./ask.js";
import { bindFields } from "./change.js";
import { refresh } from "./live.js";
import { attempt } from "./page.js";
import { beside, capital, made, refusalNote, tell, untell } from "./told.js";

const what = document.getElementById("what");
const isNew = what.dataset.new === "yes";
const here = new URL(location.href);

const outlineName = () => (isNew ? document.getElementById("outline-name").value.trim() : here.searchParams.get("outline") ?? what.dataset.outline);
const chosen = () => what.querySelector("[name=of]:checked").value;

// What was chosen before the first photo goes along with it; afterwards every change is saved.
bindFields(what, { ready: () => !isNew });

what.addEventListener("change", ({ target }) => {
  if (target.name !== "of") return;
  if (isNew) {
    here.searchParams.set("of", chosen());
    here.searchParams.set("name", outlineName());
    location.replace(here);
  } else setTimeout(() => location.reload(), 400);
});

document.addEventListener("change", async ({ target }) => {
  if (!target.matches("[data-photo]")) return;
  const files = [...target.files];
  target.value = "";
  for (const file of files) await sendPhoto(file, files.length > 1);
});

async function sendPhoto(file, several) {
  const name = outlineName();
  const field = document.getElementById("outline-name");
  if (isNew && !name) {
    beside(field, "Say what part of the building it is.");
    field.focus();
    return;
  }
  const row = made("li", { className: "working" }, made("p", { text: `Sending ${file.name}` }), made("progress", { ariaLabel: `Sending ${file.name}` }));
  document.getElementById("sending").append(row);
  const query = new URLSearchParams({ name: file.name, outline: name, of: chosen() });
  const height = typed(document.getElementById("height").value);
  if (height !== null) query.set("height", height);
  if (!isNew || document.querySelector(".photo") || several) query.set("add", "1");
  try {
    await ask("POST", `${job.root}/photos?${query}`, file, { raw: true });
    row.remove();
    untell();
    if (isNew) location.replace(`?outline=${encodeURIComponent(name)}`);
    else await refresh();
  } catch (refusal) {
    if (!(refusal instanceof Refusal)) throw refusal;
    const note = refusalNote({ ...refusal.error, where: file.name }, [
      ["Send it again", () => (note.parentNode.remove(), sendPhoto(file, several))],
      ["Leave it", () => note.parentNode.remove()],
    ]);
    row.className = "";
    row.replaceChildren(note);
  }
}

document.addEventListener("click", async ({ target }) => {
  const button = target.closest("[data-drop]");
  if (!button) return;
  button.disabled = true;
  if (await attempt(() => ask("DELETE", `${job.root}/photos/${button.dataset.drop}`))) await refresh();
  button.disabled = false;
});
