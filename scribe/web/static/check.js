// What was cut is looked at: in photos, or by the gaps felt along the fitted piece.

import { Refusal, ask, job } from "./ask.js";
import { fieldOf, gaps, lengths, tapes, widths } from "./check_form.js";
import { refresh, whenFresh } from "./live.js";
import { beside, sentence, state, tell, untell } from "./told.js";

const piece = () => document.querySelector("table[data-piece]").dataset.piece;
const edge = () => document.getElementById("check-edge")?.value ?? document.querySelector("table[data-edge]").dataset.edge;
const SAVING = ["filler", "shift", "turn"];

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
  const parts = [lengths(["height", ...SAVING]), widths(), tapes()];
  if (parts.includes(null)) return;
  const lay = document.getElementById("check-ends").checked ? "ends" : "free";
  const photos = []; // those that arrived, so that the others alone go again
  await begun(async () => {
    for (const file of files.slice(photos.length)) photos.push(await sent(file));
    return { ...parts[0], widths: parts[1], tapes: parts[2], lay, photos };
  });
}

async function sent(file) {
  state(`Sending ${file.name} ...`);
  const query = new URLSearchParams({ name: file.name, for: "check" });
  const { photo } = await ask("POST", `${job.root}/photos?${query}`, file, { raw: true });
  return photo;
}

async function felt() {
  const parts = [gaps(edge()), lengths(SAVING)];
  if (parts.includes(null)) return;
  await begun(() => ({ ...parts[1], gaps: parts[0] }));
}

// What is refused is said beside its field, where it is about one.
async function begun(content) {
  try {
    const given = await content();
    await ask("POST", `${job.root}/works`, { do: "check", piece: piece(), edge: edge(), ...given });
    untell();
    state("Saved");
    await refresh();
    document.getElementById("checked").scrollIntoView({ block: "start" });
  } catch (refusal) {
    if (!(refusal instanceof Refusal)) throw refusal;
    state("Not sent");
    const field = fieldOf(refusal.error.where);
    if (!field) return tell(refusal.error, refusal.status ? [] : [["Send it again", () => begun(content)]]);
    beside(field, sentence(refusal.error));
    field.closest("details")?.setAttribute("open", "");
    field.focus();
  }
}
