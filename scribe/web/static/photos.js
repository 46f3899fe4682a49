// The photos' screen: what they show, and each photo sent as it was taken.

import { Refusal, ask, job, typed } from "./ask.js";
import { bindFields } from "./change.js";
import { refresh } from "./live.js";
import { attempt } from "./page.js";
import { beside, made, refusalNote, untell } from "./told.js";

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
  if (isNew && !named()) return;
  let sent = 0;
  for (const file of files) sent += await sendPhoto(file, !isNew || sent > 0);
  if (sent) shown();
});

// A new outline has a screen of its own from its first photo on.
function shown() {
  if (isNew) location.replace(`?outline=${encodeURIComponent(outlineName())}`);
}

// A new outline has a name, and one that no other of the job has.
function named() {
  const name = outlineName();
  const field = document.getElementById("outline-name");
  const others = [...document.querySelectorAll(".tabs a")].map((each) => new URL(each.href).searchParams.get("outline"));
  const wrong = !name
    ? "Say what part of the building it is."
    : others.includes(name) || name === "new"
      ? "There is one of that name: choose it above, or give this one another."
      : null;
  beside(field, wrong);
  if (wrong) field.focus();
  return !wrong;
}

// True when it arrived. further: one more photo of an outline that has some.
async function sendPhoto(file, further) {
  const bar = made("progress", { ariaLabel: `Sending ${file.name}` });
  const row = made("li", { className: "working" }, made("p", { text: `Sending ${file.name}` }), bar);
  document.getElementById("sending").append(row);
  const query = new URLSearchParams({ name: file.name, outline: outlineName(), of: chosen() });
  const height = typed(document.getElementById("height").value);
  if (height !== null) query.set("height", height);
  if (further) query.set("add", "1");
  try {
    await ask("POST", `${job.root}/photos?${query}`, file, { raw: true });
    row.remove();
    untell();
    if (!isNew) await refresh();
    return true;
  } catch (refusal) {
    if (!(refusal instanceof Refusal)) throw refusal;
    const note = refusalNote({ ...refusal.error, where: file.name }, [
      ["Send it again", async () => (row.remove(), (await sendPhoto(file, further)) && shown())],
      ["Leave it", () => row.remove()],
    ]);
    row.className = "";
    row.replaceChildren(note);
    return false;
  }
}

document.addEventListener("click", async ({ target }) => {
  const button = target.closest("[data-drop]");
  if (!button) return;
  button.disabled = true;
  if (await attempt(() => ask("DELETE", `${job.root}/photos/${button.dataset.drop}`))) await refresh();
  button.disabled = false;
});
