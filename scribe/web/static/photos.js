// The photos' screen: what they show, and each photo sent as it was taken.

import { ask, job, typed } from "./ask.js";
import { bindFields } from "./change.js";
import { settled } from "./drafts.js";
import { refresh, whenFresh } from "./live.js";
import "./tape.js";
import { attempt } from "./page.js";
import { anyRefused, bindDrops, sendPhoto } from "./send.js";
import { beside } from "./told.js";

const what = document.getElementById("what");
const isNew = what.dataset.new === "yes";
const here = new URL(location.href);
let arrived = false; // a photo of the new outline

const outlineName = () => (isNew ? document.getElementById("outline-name").value.trim() : what.dataset.outline);
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
  if (arrived) shown(true);
});

// A new outline has a screen of its own from its first photo on, and what was refused is answered.
function shown(came) {
  arrived ||= came;
  if (isNew && (!arrived || anyRefused())) return;
  settled(what);
  if (isNew) location.replace(`?outline=${encodeURIComponent(outlineName())}#taken`);
  else document.getElementById("taken").scrollIntoView();
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

// One more photo of an outline that has some, or the first.
function purpose() {
  const height = typed(document.getElementById("height").value);
  return {
    outline: outlineName(),
    of: chosen(),
    ...((!isNew || arrived) && { add: "1" }),
    ...(height !== null && { height }),
  };
}

// True when it arrived.
async function sendOne(file) {
  const done = await sendPhoto(file, purpose, shown);
  if (done && !isNew) await refresh();
  return done;
}

bindDrops(attempt, refresh);

document.addEventListener("click", async ({ target }) => {
  const button = target.closest("#take-in");
  if (!button) return;
  button.disabled = true;
  if (await attempt(() => ask("POST", `${job.root}/take-in`))) await refresh();
  button.disabled = false;
});

// An outline goes with its last photo, wherever that was taken away: then another one is shown.
whenFresh(() => {
  const gone = document.getElementById("taken-title").dataset.outline !== what.dataset.outline;
  if (!isNew && gone) location.replace(location.pathname);
});
