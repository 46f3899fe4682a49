// A round glass that shows the photo three times as large, above the finger that hides it.

const SIZE = 132;
const ABOVE = 96;
const TIMES = 3;

export class Loupe {
  constructor(stage) {
    this.canvas = document.createElement("canvas");
    this.canvas.className = "loupe";
    this.canvas.hidden = true;
    this.canvas.setAttribute("aria-hidden", "true");
    stage.append(this.canvas);
  }

  // at: where on the screen; point: of the photo; course: what is drawn over it.
  show(image, shrunk, sight, at, point, course, colour) {
    const canvas = this.canvas;
    const dense = window.devicePixelRatio || 1;
    canvas.hidden = false;
    canvas.width = canvas.height = SIZE * dense;
    const flipped = at[1] < ABOVE + SIZE / 2;
    canvas.style.left = `${at[0] - SIZE / 2}px`;
    canvas.style.top = `${flipped ? at[1] + ABOVE - SIZE / 2 : at[1] - ABOVE - SIZE / 2}px`;
    const pen = canvas.getContext("2d");
    const scale = Math.max(sight.scale * TIMES, 1);
    const half = SIZE / 2;
    pen.setTransform(dense, 0, 0, dense, 0, 0);
    pen.fillStyle = "#000";
    pen.fillRect(0, 0, SIZE, SIZE);
    const span = SIZE / scale;
    pen.drawImage(
      image,
      (point[0] - span / 2) * shrunk,
      (point[1] - span / 2) * shrunk,
      span * shrunk,
      span * shrunk,
      0,
      0,
      SIZE,
      SIZE,
    );
    pen.translate(half - point[0] * scale, half - point[1] * scale);
    pen.scale(scale, scale);
    pen.strokeStyle = colour;
    pen.lineWidth = 2 / scale;
    pen.beginPath();
    course.forEach(([x, y], k) => (k ? pen.lineTo(x, y) : pen.moveTo(x, y)));
    pen.stroke();
    pen.setTransform(dense, 0, 0, dense, 0, 0);
    pen.strokeStyle = "#000";
    pen.lineWidth = 1;
    pen.beginPath();
    for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
      pen.moveTo(half + dx * 6, half + dy * 6);
      pen.lineTo(half + dx * 22, half + dy * 22);
    }
    pen.stroke();
  }

  hide() {
    this.canvas.hidden = true;
  }
}
