// What was cut is looked at: in photos, or by the gaps felt along the fitted piece.

import { Refusal, ask, job, typed } from "./ask.js";
import { whenFresh } from "./live.js";
import { begin } from "./page.js";
import { beside, sentence, state, tell } from "./told.js";

const piece = () => document.querySelector("table[data-piece]").dataset.piece;
const edge = () => document.getElementById("check-edge")?.value ?? document.querySelector("table[data-edge]").dataset.edge;

document.addEventListener("change", async ({ target }) => {
  if (target.matches("[data-check]")) await photographed(target);
  if (target.id === "check-edge") feltEdge();
});

document.addEventListener("click", async ({ target }) => {
  if (target.closest("button")?.id === "check-gaps") await felt();
});

whenFresh(feltEdge);

// Gaps are felt along the edge that is checked.
function feltEdge() {
  for (const table of document.querySelectorAll("[data-felt]")) table.hidden = table.dataset.felt !== edge();
}

async function photographed(input) {
  const files = [...input.files];
  input.value = "";
  if (!files.length) return;
  const height = document.getElementById("check-height");
  beside(height, null);
  const widths = widthsTyped();
  if (widths === null) return;
  try {
    const photos = [];
    for (const file of files) photos.push(await sent(file));
    const lay = document.getElementById("check-ends").checked ? "ends" : "free";
    await begin({ do: "check", piece: piece(), photos, edge: edge(), height: typed(height.value), lay, widths });
    state("Saved");
  } catch (refusal) {
    if (!(refusal instanceof Refusal)) throw refusal;
    state("Not sent");
    if (refusal.error.where?.includes("height")) beside(height, sentence(refusal.error));
    else tell(refusal.error);
  }
}

async function sent(file) {
  state(`Sending ${file.name} ...`);
  const query = new URLSearchParams({ name: file.name, for: "check" });
  const { photo } = await ask("POST", `${job.root}/photos?${query}`, file, { raw: true });
  return photo;
}

// Pairs of station and width; null where something is amiss, which is said.
function widthsTyped() {
  const found = [];
  for (const at of document.querySelectorAll("[data-width-at]")) {
    const is = document.getElementById(`width-is-${at.dataset.widthAt}`);
    const pair = [typed(at.value), typed(is.value)];
    const empty = pair.every((each) => each === null);
    const wrong = !empty && pair.some((each) => typeof each !== "number") ? "A width needs its station and the width there, both in mm." : null;
    beside(at, wrong);
    if (wrong) return null;
    if (!empty) found.push(pair);
  }
  return found;
}

async function felt() {
  const gaps = [];
  const fields = [...document.querySelectorAll(`[data-felt="${CSS.escape(edge())}"] [data-gap]`)];
  for (const field of fields) {
    const gap = typed(field.value);
    const wrong = gap !== null && (typeof gap !== "number" || gap < 0) ? `At station ${field.dataset.gap}: give the gap in mm, 0 where it touches.` : null;
    beside(field, wrong);
    if (wrong) return field.focus();
    if (gap !== null) gaps.push([Number(field.dataset.gap), gap]);
  }
  if (gaps.length < 2) {
    beside(fields[0], "Feel the gap at two stations at least.");
    return fields[0].focus();
  }
  await begin({ do: "check", piece: piece(), edge: edge(), gaps });
}
