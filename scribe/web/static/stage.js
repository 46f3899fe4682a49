// The photo with the outline over it: pan with a finger, pinch, double tap, wheel, buttons, keys.
// The stage tells a tool where it was pressed, dragged and let go, in pixels of the photo.

import { box, nearest, written } from "./course.js";
import { Loupe } from "./loupe.js";
import { around, fitted, nearer, photographed, pinched, seen, shifted } from "./sight.js";

const SVG = "http://www.w3.org/2000/svg";
const DOUBLE_MS = 320;
const STILL_PX = 8; // a finger that moved less was a tap

export class Stage {
  // view: one photo of a sight as the server answers, with `measured` of its own stretch.
  constructor(element, view) {
    this.element = element;
    this.tool = null;
    this.fingers = new Map();
    this.lastTap = { when: 0, at: [0, 0] };
    this.build();
    this.replace(view);
    this.listen();
  }

  build() {
    this.image = document.createElement("img");
    this.image.alt = "";
    this.image.draggable = false;
    this.image.addEventListener("load", () => this.draw());
    this.over = document.createElementNS(SVG, "svg");
    this.over.setAttribute("aria-hidden", "true");
    this.moved = document.createElementNS(SVG, "g");
    this.over.append(this.moved);
    this.handles = document.createElement("div");
    this.handles.className = "handles";
    this.element.replaceChildren(this.image, this.over, this.handles);
    this.loupe = new Loupe(this.element);
    new ResizeObserver(() => this.resized()).observe(this.element);
  }

  get frame() {
    return { width: this.element.clientWidth, height: this.element.clientHeight };
  }

  // Photo pixels to a CSS pixel, where the finger aims.
  get pixelsShown() {
    return 1 / this.sight.scale;
  }

  resized() {
    const before = this.was;
    this.was = this.frame;
    if (!this.was.width || !this.was.height) return;
    if (!this.sight) this.show(this.drawn);
    else if (before?.width !== this.was.width || before?.height !== this.was.height) this.show(this.drawn);
  }

  // The course, or all of a photo without one.
  show(course) {
    this.whole = course.length ? around(box(course), this.frame, this.photo) : fitted(this.frame, this.photo);
    this.look(this.whole);
  }

  look(sight) {
    this.sight = sight;
    this.draw();
  }

  zoom(factor, at = [this.frame.width / 2, this.frame.height / 2]) {
    this.look(nearer(this.sight, factor, at, this.frame, this.photo));
  }

  // The same photo keeps where it was looked at; another one is shown whole.
  replace(view) {
    const another = this.view?.photo !== view.photo;
    this.view = view;
    this.photo = { width: view.size_px[0], height: view.size_px[1] };
    this.course = view.outline_px;
    this.measured = view.measured;
    this.drawn = this.course;
    this.marks = [];
    if (another) this.image.src = view.shown;
    if (another && this.sight) this.show(this.drawn);
    else this.draw();
  }

  // A point of this photo as the server wants it: with the number of the photo.
  placed([x, y]) {
    return [x, y, this.view.number];
  }

  draw() {
    if (!this.sight) return;
    const { scale, x, y } = this.sight;
    this.image.style.width = `${this.photo.width * scale}px`;
    this.image.style.transform = `translate(${x}px, ${y}px)`;
    this.moved.setAttribute("transform", `translate(${x + scale / 2} ${y + scale / 2}) scale(${scale})`);
    this.moved.replaceChildren(...this.lines());
    for (const handle of this.handles.children) {
      const [hx, hy] = seen(this.sight, handle.point);
      handle.style.transform = `translate(${hx}px, ${hy}px)`;
    }
  }

  lines() {
    const line = (course, kind) => {
      const made = document.createElementNS(SVG, "polyline");
      made.setAttribute("points", written(course));
      made.setAttribute("class", kind);
      return made;
    };
    const unseen = stretches(this.drawn, this.measured).map((each) => line(each, "bridged"));
    return [line(this.drawn, "casing"), line(this.drawn, "line"), ...unseen, ...this.marks.map((each) => line(each.course, each.kind))];
  }

  near(point) {
    return nearest(this.drawn, point);
  }

  glass(at, point, course = this.drawn) {
    const colour = getComputedStyle(this.element).getPropertyValue("--line") || "#e00";
    const shrunk = this.image.naturalWidth / this.photo.width;
    this.loupe.show(this.image, shrunk, this.sight, at, point, course, colour);
  }

  listen() {
    const stage = this.element;
    stage.addEventListener("pointerdown", (event) => this.pressed(event));
    stage.addEventListener("pointermove", (event) => this.went(event));
    for (const end of ["pointerup", "pointercancel"]) stage.addEventListener(end, (event) => this.lifted(event));
    stage.addEventListener("wheel", (event) => this.wheeled(event), { passive: false });
    stage.addEventListener("keydown", (event) => this.keyed(event));
  }

  at(event) {
    const { left, top } = this.element.getBoundingClientRect();
    return [event.clientX - left - this.element.clientLeft, event.clientY - top - this.element.clientTop];
  }

  pressed(event) {
    if (event.button > 0) return;
    event.preventDefault(); // else a second tap would be taken for a zoom of the whole page
    this.element.focus({ preventScroll: true });
    this.element.setPointerCapture(event.pointerId);
    const at = this.at(event);
    this.fingers.set(event.pointerId, at);
    if (this.fingers.size > 1) {
      this.drop();
      return;
    }
    this.from = at;
    this.still = true;
    this.grip = this.tool?.grab?.(photographed(this.sight, at), at) ?? null;
    this.element.classList.toggle("gripped", this.grip !== null);
  }

  went(event) {
    const before = this.fingers.get(event.pointerId);
    if (!before) return;
    const at = this.at(event);
    if (this.fingers.size === 2) {
      const [[other]] = [...this.fingers].filter(([id]) => id !== event.pointerId).map(([, p]) => [p]);
      this.look(pinched(this.sight, [before, other], [at, other], this.frame, this.photo));
    } else if (this.grip) {
      this.grip.move(photographed(this.sight, at), at);
    } else if (!this.still || Math.hypot(at[0] - this.from[0], at[1] - this.from[1]) > STILL_PX) {
      this.still = false;
      this.look(shifted(this.sight, at[0] - before[0], at[1] - before[1], this.frame, this.photo));
    }
    if (!(this.still && !this.grip) || this.fingers.size > 1) this.fingers.set(event.pointerId, at);
  }

  lifted(event) {
    if (!this.fingers.delete(event.pointerId)) return;
    const at = this.at(event);
    if (this.fingers.size) {
      this.still = false;
      return;
    }
    this.loupe.hide();
    this.element.classList.remove("gripped");
    const grip = this.grip;
    this.grip = null;
    if (event.type === "pointercancel") grip?.drop?.();
    else if (grip) grip.end(photographed(this.sight, at), at);
    else if (this.still) this.tapped(at);
  }

  drop() {
    this.grip?.drop?.();
    this.grip = null;
    this.element.classList.remove("gripped");
    this.still = false;
    this.loupe.hide();
  }

  tapped(at) {
    const when = performance.now();
    const last = this.lastTap;
    const twice = when - last.when < DOUBLE_MS && Math.hypot(at[0] - last.at[0], at[1] - last.at[1]) < 30;
    this.lastTap = { when: twice ? 0 : when, at };
    if (this.tool?.tap) this.tool.tap(photographed(this.sight, at), at);
    else if (twice) this.look(this.isNear() ? this.whole : nearer(this.sight, 3, at, this.frame, this.photo));
  }

  isNear() {
    return this.sight.scale > 2 * this.whole.scale;
  }

  // The page scrolls by the wheel until the stage was chosen.
  wheeled(event) {
    if (!event.ctrlKey && !this.element.contains(document.activeElement)) return;
    event.preventDefault();
    this.zoom(Math.exp(-event.deltaY / 400), this.at(event));
  }

  keyed(event) {
    if (event.target !== this.element || event.ctrlKey || event.metaKey || event.altKey) return;
    const step = event.shiftKey ? 160 : 40;
    const ways = { ArrowLeft: [step, 0], ArrowRight: [-step, 0], ArrowUp: [0, step], ArrowDown: [0, -step] };
    const way = ways[event.key];
    if (way) this.look(shifted(this.sight, ...way, this.frame, this.photo));
    else if (event.key === "+" || event.key === "=") this.zoom(1.4);
    else if (event.key === "-") this.zoom(1 / 1.4);
    else if (event.key === "0") this.look(fitted(this.frame, this.photo));
    else return;
    event.preventDefault();
  }
}

// The parts of a course whose points nobody measured, with a point to either side.
function stretches(course, measured) {
  const found = [];
  for (let k = 0; k < course.length; k += 1) {
    if (measured[k]) continue;
    const from = Math.max(k - 1, 0);
    while (k < course.length && !measured[k]) k += 1;
    found.push(course.slice(from, k + 1));
  }
  return found;
}
