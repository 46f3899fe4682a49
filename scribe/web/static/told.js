// Saying things: beside a field, above the work, or in the line of the state.

export function sign(name) {
  const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  svg.setAttribute("class", "sign");
  svg.setAttribute("aria-hidden", "true");
  const use = document.createElementNS("http://www.w3.org/2000/svg", "use");
  use.setAttribute("href", `/static/signs.svg#${name}`);
  svg.append(use);
  return svg;
}

export function made(tag, { text, ...rest } = {}, ...inside) {
  const element = document.createElement(tag);
  if (text !== undefined) element.textContent = text;
  for (const [name, value] of Object.entries(rest)) {
    if (name in element && name !== "list") element[name] = value;
    else element.setAttribute(name, value);
  }
  element.append(...inside);
  return element;
}

export const capital = (words) => words.slice(0, 1).toUpperCase() + words.slice(1);

export function state(words) {
  const line = document.getElementById("state");
  if (line && line.textContent !== words) line.textContent = words;
}

// Nobody is sent to where he is.
const here = ` (at ${capital(document.body.dataset.place ?? "")})`;
const readHere = (words) => words.replaceAll(here, "");

// A refusal as a note; acts: pairs of words and what they do.
export function refusalNote({ what, where, do: act }, acts = []) {
  const note = made("div", { className: "note bad" }, sign("bad"));
  note.append(made("p", {}, made("strong", { text: `${capital(what)}${where ? ` (${where})` : ""}.` })));
  if (act) note.append(made("p", { text: `${capital(readHere(act))}.` }));
  if (acts.length) {
    const row = made("div", { className: "acts" });
    for (const [words, then] of acts) row.append(made("button", { type: "button", text: words, onclick: then }));
    note.append(row);
  }
  return note;
}

// Above the work, where there is no field to say it beside.
export function tell(error, acts) {
  const place = document.getElementById("told");
  place.replaceChildren(refusalNote(error, acts));
  place.hidden = false;
  place.scrollIntoView({ block: "nearest" });
}

export function untell() {
  const place = document.getElementById("told");
  place.hidden = true;
  place.replaceChildren();
}

// Beside one field. words null: all is well.
export function beside(field, words) {
  const id = (field.getAttribute("aria-describedby") ?? "").split(" ").find((each) => each.endsWith("-said"));
  const line = document.getElementById(id ?? `${field.name}-said`);
  if (words) field.setAttribute("aria-invalid", "true");
  else field.removeAttribute("aria-invalid");
  if (!line) return;
  line.replaceChildren(...(words ? [sign("bad"), made("span", { text: words })] : []));
  line.hidden = !words;
}

export const sentence = (error) => `${capital(error.what)}. ${error.do ? `${capital(readHere(error.do))}.` : ""}`;
