// The photos' screen: what they show, and each photo sent as it was taken.

import { typed } from "./ask.js";
import { bindFields } from "./change.js";
import { settled } from "./drafts.js";
import { refresh } from "./live.js";
import "./tape.js";
import { attempt } from "./page.js";
import { anyRefused, bindDrops, sendPhoto } from "./send.js";
import { beside } from "./told.js";

const what = document.getElementById("what");
const isNew = what.dataset.new === "yes";
const here = new URL(location.href);
let arrived = false; // a photo of the new outline

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
  if (isNew && !arrived && !named()) return;
  for (const file of files) if (await sendOne(file)) arrived = true;
  if (arrived) shown();
});

// A new outline has a screen of its own from its first photo on, and what was refused is answered.
function shown() {
  if (isNew && (!arrived || anyRefused())) return;
  settled(what);
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

// True when it arrived. It is one more photo of an outline that has some, or the first.
async function sendOne(file) {
  const query = { outline: outlineName(), of: chosen(), ...((!isNew || arrived) && { add: "1" }) };
  const height = typed(document.getElementById("height").value);
  if (height !== null) query.height = height;
  const done = await sendPhoto(file, query, shown);
  if (done && !isNew) await refresh();
  return done;
}

bindDrops(attempt, refresh);
