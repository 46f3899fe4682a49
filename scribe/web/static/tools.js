// The tools that put an outline right. Each says what to do, what it does where it is pressed,
// and asks with `send(correction)`; places are pixels of the photo.

import { dragged, length, parted } from "./course.js";
import { photographed, seen } from "./sight.js";

const GRIP_PX = 44; // how far from the line a finger may press and still have it
const POINTS = 9; // handles for the keyboard

export function toolsOf(stage, send, acts) {
  const reach = (from, to) => Math.max(length(stage.course) / 12, 3 * Math.hypot(to[0] - from[0], to[1] - from[1]));

  const drag = {
    help: "Press the line where it is wrong, and pull it to the edge.",
    grab(point, at) {
      const place = stage.near(point);
      if (place.away > GRIP_PX * stage.pixelsShown) return null;
      const off = [place.at[0] - point[0], place.at[1] - point[1]];
      const aimed = ([x, y]) => [x + off[0], y + off[1]];
      const move = (now, where) => {
        stage.drawn = dragged(stage.course, place.along, aimed(now), reach(place.at, aimed(now)));
        stage.draw();
        stage.glass(where, aimed(now));
      };
      move(point, at);
      return {
        move,
        drop: () => restore(stage),
        end: (now) => {
          const to = aimed(now);
          if (Math.hypot(to[0] - place.at[0], to[1] - place.at[1]) < stage.pixelsShown) restore(stage);
          else send({ do: "drag", from_px: stage.placed(place.at), to_px: stage.placed(to), px_shown: stage.pixelsShown });
        },
      };
    },
    handles: () => {
      const count = Math.min(POINTS, stage.course.length);
      return Array.from({ length: count }, (_, k) => {
        const index = Math.round((k * (stage.course.length - 1)) / Math.max(count - 1, 1));
        return handle(stage, index, `Point ${k + 1} of ${count}`, {
          moved: (to) => {
            stage.drawn = dragged(stage.course, index, to, reach(stage.course[index], to));
            stage.draw();
          },
          kept: (to) => send({ do: "drag", from_px: stage.placed(stage.course[index]), to_px: stage.placed(to), px_shown: 1 }),
        });
      });
    },
  };

  const cut = {
    help: "Tap the line where it stops being right: the shorter part beyond is taken off.",
    tap(point) {
      const place = stage.near(point);
      if (place.away > GRIP_PX * stage.pixelsShown) return;
      const [before, behind] = parted(stage.course, place.along);
      const { first, total, run } = stage.view;
      const drop = first + place.along < total / 2 ? "start" : "end";
      const at = stage.placed(place.at);
      stage.marks = [{ course: drop === "start" ? before : behind, kind: "dropped" }];
      stage.draw();
      if (run) cut.say(`The dashed part goes, and with it the line in the photos ${drop === "start" ? "before" : "after"} this one.`);
      acts([
        ["Take it off", () => send({ do: "cut", at_px: at, drop }), true],
        ["The other part", () => send({ do: "cut", at_px: at, drop: drop === "start" ? "end" : "start" })],
        ["Neither", () => (clear(stage, acts), cut.say(cut.help))],
      ]);
    },
    handles: () =>
      [0, stage.course.length - 1].map((index) =>
        sliding(stage, index, index === 0 ? "The first end" : "The last end", (at) =>
          send({ do: "cut", at_px: stage.placed(at), drop: index === 0 ? "start" : "end" }),
        ),
      ),
  };

  const ends = tapping(stage, acts, {
    first: "Tap the photo where the outline starts.",
    more: ["Now tap where it ends.", "Trace it anew between the two, or tap to set them again."],
    least: 2,
    most: 2,
    words: "Trace between these",
    done: ([from, to]) => send({ do: "ends", from_px: from, to_px: to }),
  });

  const near = tapping(stage, acts, {
    get first() {
      const found = stage.view.total ? "The wrong edge? Tap along the right one" : "Show where it runs: tap some points along it";
      return `${found}${stage.view.run ? ", in every photo" : ""}, from end to end.`;
    },
    more: ["Tap further points along it.", "Further points make it surer."],
    least: 2,
    most: 200,
    words: "Trace this edge",
    done: (points) => send({ do: "near", points_px: points }),
  });

  return { look: { help: "Pinch or tap twice to look closer. Is the line on the edge from end to end?" }, drag, cut, ends, near };
}

function restore(stage) {
  stage.drawn = stage.course;
  stage.loupe.hide();
  stage.draw();
}

export function clear(stage, acts) {
  stage.marks = [];
  acts([]);
  restore(stage);
}

// said.first is asked for anew each time: it may hang on what is found by then.
function tapping(stage, acts, said) {
  const { more, least, most, words, done } = said;
  let points = [];
  const tool = {
    get help() {
      return said.first;
    },
    begin: () => {
      points = [];
    },
    tap(point) {
      points = points.length >= most ? [stage.placed(point)] : [...points, stage.placed(point)];
      tool.turned();
      tool.say?.(points.length >= least ? more[1] : more[0]);
      acts(
        points.length >= least
          ? [[words, () => done(points), true], ["Set them again", () => (tool.begin(), clear(stage, acts), tool.say?.(tool.help))]]
          : [],
      );
    },
    // Draws what was set in the photo that is shown now.
    turned() {
      const here = points.filter((each) => each[2] === stage.view.number).map(([x, y]) => [x, y]);
      stage.marks = [
        ...(here.length > 1 ? [{ course: here, kind: "wish" }] : []),
        ...here.map((each) => ({ course: cross(stage, each), kind: "spot" })),
      ];
      stage.draw();
    },
    // Without a pointer: Enter sets a point in the middle of the stage.
    key(event) {
      if (event.key !== "Enter") return false;
      const { width, height } = stage.frame;
      tool.tap(photographed(stage.sight, [width / 2, height / 2]));
      return true;
    },
    aim: true,
  };
  return tool;
}

function cross(stage, [x, y]) {
  const arm = 12 * stage.pixelsShown;
  return [[x - arm, y], [x + arm, y], [x, y], [x, y - arm], [x, y + arm]];
}

// A point for Tab and the arrow keys: moved(to) while it goes, kept(to) by Enter.
function handle(stage, index, words, { moved, kept }) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "handle";
  button.setAttribute("aria-label", `${words}: arrow keys move it, Enter keeps, Escape drops`);
  button.point = stage.course[index];
  let to = null;
  button.addEventListener("focus", () => comeNear(stage, button.point));
  button.addEventListener("keydown", (event) => {
    const step = (event.shiftKey ? 10 : 1) * Math.max(1, stage.pixelsShown / 2);
    const way = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] }[event.key];
    if (way) {
      const [x, y] = to ?? button.point;
      to = [x + way[0], y + way[1]];
      button.point = to;
      moved(to);
      stage.glass(seen(stage.sight, to), to);
    } else if (event.key === "Enter" && to) {
      kept(to);
    } else if (event.key === "Escape" && to) {
      to = null;
      button.point = stage.course[index];
      restore(stage);
    } else return;
    event.preventDefault();
  });
  button.addEventListener("blur", () => stage.loupe.hide());
  return button;
}

// An end that arrow keys push along the line.
function sliding(stage, from, words, kept) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "handle";
  button.setAttribute("aria-label", `${words}: arrow keys push it along the line, Enter cuts off what lies beyond`);
  button.point = stage.course[from];
  const inward = from === 0 ? 1 : -1;
  let index = from;
  button.addEventListener("focus", () => comeNear(stage, button.point));
  button.addEventListener("keydown", (event) => {
    const towards = { ArrowRight: inward, ArrowUp: inward, ArrowLeft: -inward, ArrowDown: -inward }[event.key];
    if (towards) {
      const step = towards * (event.shiftKey ? 10 : 1);
      index = Math.min(stage.course.length - 1, Math.max(0, index + step));
      button.point = stage.course[index];
      const gone = from === 0 ? stage.course.slice(0, index + 1) : stage.course.slice(index);
      stage.marks = gone.length > 1 ? [{ course: gone, kind: "dropped" }] : [];
      stage.draw();
    } else if (event.key === "Enter" && index !== from) kept(stage.course[index]);
    else return;
    event.preventDefault();
  });
  return button;
}

function comeNear(stage, point) {
  const [x, y] = seen(stage.sight, point);
  const { width, height } = stage.frame;
  if (x > 20 && y > 20 && x < width - 20 && y < height - 20) return;
  stage.look({ ...stage.sight, x: stage.sight.x + width / 2 - x, y: stage.sight.y + height / 2 - y });
}
