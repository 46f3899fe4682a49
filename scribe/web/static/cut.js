// The cut's screen: the template, the ticks at the bench, and the photo of what was cut.

import { Refusal, ask, job, typed } from "./ask.js";
import { whenFresh } from "./live.js";
import { begin } from "./page.js";
import { beside, sentence, state, tell } from "./told.js";
import { keptTick, tick } from "./ticks.js";

const table = (box) => box.closest("table").dataset;

document.addEventListener("change", async ({ target }) => {
  if (target.matches("[data-station]")) await ticked(target);
  if (target.matches("[data-check]")) await checked(target);
});

async function ticked(box) {
  const { piece, edge } = table(box);
  marked(box);
  counted();
  const sent = await tick(piece, edge, Number(box.dataset.station), box.checked);
  state(sent ? "Saved" : "Ticks kept here, not sent yet");
}

function marked(box) {
  box.closest("tr").classList.toggle("ticked", box.checked);
}

function counted() {
  for (const line of document.querySelectorAll("[data-count]")) {
    const boxes = document.querySelectorAll(`table[data-edge="${CSS.escape(line.dataset.count)}"] [data-station]`);
    line.textContent = `${[...boxes].filter((box) => box.checked).length} of ${boxes.length} done`;
  }
}

whenFresh(() => {
  for (const box of document.querySelectorAll("[data-station]")) {
    const { piece, edge } = table(box);
    const kept = keptTick(piece, edge, Number(box.dataset.station));
    if (kept !== null) box.checked = kept;
    marked(box);
  }
  counted();
});

document.addEventListener("click", async ({ target }) => {
  if (target.closest("button")?.id !== "make") return;
  const dxf = document.getElementById("dxf").checked;
  await begin({ do: "make", dxf });
});

async function checked(input) {
  const file = input.files[0];
  input.value = "";
  if (!file) return;
  const height = document.getElementById("check-height");
  beside(height, null);
  state(`Sending ${file.name} ...`);
  const query = new URLSearchParams({ name: file.name, for: "check" });
  try {
    const { photo } = await ask("POST", `${job.root}/photos?${query}`, file, { raw: true });
    const edge = document.getElementById("check-edge")?.value ?? document.querySelector("table[data-edge]").dataset.edge;
    const piece = document.querySelector("table[data-piece]").dataset.piece;
    await begin({ do: "check", piece, photos: [photo], edge, height: typed(height.value) });
    state("Saved");
  } catch (refusal) {
    if (!(refusal instanceof Refusal)) throw refusal;
    state("Not sent");
    if (refusal.error.where?.includes("height")) beside(height, sentence(refusal.error));
    else tell({ ...refusal.error, where: file.name });
  }
}
