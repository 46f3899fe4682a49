// Where a photo lies in the frame it is looked at through: scale and shift, nothing else.
// A sight is {scale, x, y}: a point p of the photo (in its pixels) is seen at p * scale + (x, y).

export const CLOSEST = 8; // screen px for a pixel of the photo

export function fitted(frame, photo) {
  const scale = Math.min(frame.width / photo.width, frame.height / photo.height);
  return centred({ scale, x: 0, y: 0 }, frame, photo);
}

export function seen(sight, [x, y]) {
  return [x * sight.scale + sight.x, y * sight.scale + sight.y];
}

export function photographed(sight, [x, y]) {
  return [(x - sight.x) / sight.scale, (y - sight.y) / sight.scale];
}

// Nearer by a factor, with the point `at` of the screen staying where it is.
export function nearer(sight, factor, at, frame, photo) {
  const least = fitted(frame, photo).scale;
  const scale = Math.min(Math.max(sight.scale * factor, least), Math.max(CLOSEST, least));
  const by = scale / sight.scale;
  const moved = {
    scale,
    x: at[0] + (sight.x - at[0]) * by,
    y: at[1] + (sight.y - at[1]) * by,
  };
  return centred(moved, frame, photo);
}

export function shifted(sight, dx, dy, frame, photo) {
  return centred({ ...sight, x: sight.x + dx, y: sight.y + dy }, frame, photo);
}

// Two fingers: what was under them stays under them.
export function pinched(sight, before, now, frame, photo) {
  const spread = ([a, b]) => Math.max(Math.hypot(a[0] - b[0], a[1] - b[1]), 1);
  const middle = ([a, b]) => [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
  const [from, to] = [middle(before), middle(now)];
  const dragged = { ...sight, x: sight.x + to[0] - from[0], y: sight.y + to[1] - from[1] };
  return nearer(dragged, spread(now) / spread(before), to, frame, photo);
}

// Shows a box of the photo, with some room around it.
export function around([x0, y0, x1, y1], frame, photo, room = 1.15) {
  const scale = Math.min(
    frame.width / Math.max((x1 - x0) * room, 1),
    frame.height / Math.max((y1 - y0) * room, 1),
    CLOSEST,
  );
  const least = fitted(frame, photo).scale;
  const used = Math.max(scale, least);
  const x = frame.width / 2 - ((x0 + x1) / 2) * used;
  const y = frame.height / 2 - ((y0 + y1) / 2) * used;
  return centred({ scale: used, x, y }, frame, photo);
}

// The photo never leaves its frame; where it is smaller than the frame it stands in the middle.
function centred(sight, frame, photo) {
  const held = (shift, room, size) =>
    size <= room ? (room - size) / 2 : Math.min(0, Math.max(room - size, shift));
  return {
    scale: sight.scale,
    x: held(sight.x, frame.width, photo.width * sight.scale),
    y: held(sight.y, frame.height, photo.height * sight.scale),
  };
}
