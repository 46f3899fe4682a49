// The course of an outline over a photo, as points [x, y] in the photo's pixels.

const apart = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);

// The nearest place on the course: its distance, the point, and how far along (index + part).
export function nearest(course, point) {
  let best = { away: Infinity, at: course[0], along: 0 };
  for (let k = 0; k + 1 < course.length; k += 1) {
    const [a, b] = [course[k], course[k + 1]];
    const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
    const square = dx * dx + dy * dy || 1;
    const raw = ((point[0] - a[0]) * dx + (point[1] - a[1]) * dy) / square;
    const part = Math.min(1, Math.max(0, raw));
    const at = [a[0] + part * dx, a[1] + part * dy];
    const away = apart(at, point);
    if (away < best.away) best = { away, at, along: k + part };
  }
  return best;
}

export function length(course) {
  let sum = 0;
  for (let k = 0; k + 1 < course.length; k += 1) sum += apart(course[k], course[k + 1]);
  return sum;
}

// What the course looks like while a point of it is dragged: its neighbours follow, less and
// less, over `reach` pixels to both sides. A picture of what is asked for, not a measurement.
export function dragged(course, along, to, reach) {
  const middle = Math.round(along);
  const [dx, dy] = [to[0] - course[middle][0], to[1] - course[middle][1]];
  return course.map((point) => {
    const near = Math.max(0, 1 - apart(point, course[middle]) / reach);
    const part = near * near * (3 - 2 * near);
    return [point[0] + part * dx, point[1] + part * dy];
  });
}

// The two parts of the course at a place on it.
export function parted(course, along) {
  const k = Math.floor(along);
  const part = along - k;
  const next = course[Math.min(k + 1, course.length - 1)];
  const at = [
    course[k][0] + part * (next[0] - course[k][0]),
    course[k][1] + part * (next[1] - course[k][1]),
  ];
  return [
    [...course.slice(0, k + 1), at],
    [at, ...course.slice(k + 1)],
  ];
}

export function box(course) {
  const xs = course.map((p) => p[0]);
  const ys = course.map((p) => p[1]);
  return [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
}

export function written(course) {
  return course.map(([x, y]) => `${x.toFixed(1)},${y.toFixed(1)}`).join(" ");
}
