// The cut's screen: the template, and the ticks at the bench. What was cut is checked in check.js.

import "./check.js";
import { whenFresh } from "./live.js";
import { begin } from "./page.js";
import { state } from "./told.js";
import { keptTick, tick } from "./ticks.js";

const table = (box) => box.closest("table").dataset;

document.addEventListener("change", async ({ target }) => {
  if (target.matches("[data-station]")) await ticked(target);
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
