// Ticks at the bench: kept in this browser at once, sent when the machine answers.

import { job } from "./ask.js";

const KEPT = `scribe-ticks-${job.id}`;

function waiting() {
  try {
    return JSON.parse(localStorage.getItem(KEPT) ?? "[]");
  } catch {
    return [];
  }
}

export function tick(piece, edge, station, done) {
  const others = waiting().filter((each) => !same(each, { piece, edge, station }));
  localStorage.setItem(KEPT, JSON.stringify([...others, { piece, edge, station, done }]));
  return sendTicks();
}

const same = (a, b) => a.piece === b.piece && a.edge === b.edge && a.station === b.station;

// What was ticked here and not sent yet: "true" or "false", null when nothing waits.
export function keptTick(piece, edge, station) {
  const found = waiting().find((each) => same(each, { piece, edge, station }));
  return found ? found.done : null;
}

export async function sendTicks() {
  while (waiting().length) {
    const first = waiting()[0];
    let answer;
    try {
      answer = await fetch(`${job.root}/ticks`, {
        method: "POST",
        headers: { "Content-Type": "application/json", "If-Match": `"${job.version}"` },
        body: JSON.stringify(first),
      });
    } catch {
      return false;
    }
    if (!answer.ok && answer.status !== 422 && answer.status !== 404) return false;
    const left = waiting().filter((each) => !(same(each, first) && each.done === first.done));
    if (left.length) localStorage.setItem(KEPT, JSON.stringify(left));
    else localStorage.removeItem(KEPT);
  }
  return true;
}
