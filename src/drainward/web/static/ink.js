// The symbols of the plan, the same on page and paper: Ink draws them, Labels keeps words off each other.
export const INK = "#1a1a1a", GREY = "#555555", WATER = "#0072b2", DEEP = "#004a75", WARN = "#a34700", ASK = "#b0005f";
const FACE = "system-ui, sans-serif";
const AROUND = [[0, -1], [0, 1], [1, 0], [-1, 0], [1, -1], [-1, -1], [1, 1], [-1, 1]];

const between = ([ax, ay], [bx, by]) => {
  const size = Math.hypot(bx - ax, by - ay) || 1;
  return [(bx - ax) / size, (by - ay) / size];
};

export class Ink {
  // at: plan metres to pixels; width, height: the sheet in pixels.
  constructor(pen, at, width, height) { Object.assign(this, { pen, at, width, height }); }

  ends(mark) { return [this.at(mark.x, mark.y), mark.x2 === null ? null : this.at(mark.x2, mark.y2)]; }

  middle(mark) {
    const [a, b] = this.ends(mark);
    return b ? [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2] : a;
  }

  stroke(points, colour, weight, dash = []) {
    const { pen } = this;
    pen.strokeStyle = colour;
    pen.lineWidth = weight;
    pen.setLineDash(dash);
    pen.beginPath();
    points.forEach(([x, y], k) => (k ? pen.lineTo(x, y) : pen.moveTo(x, y)));
    pen.stroke();
    pen.setLineDash([]);
  }

  disc([x, y], radius, fill, edge = "", weight = 2) {
    const { pen } = this;
    pen.beginPath();
    pen.arc(x, y, radius, 0, 2 * Math.PI);
    if (fill) { pen.fillStyle = fill; pen.fill(); }
    if (edge) { pen.strokeStyle = edge; pen.lineWidth = weight; pen.stroke(); }
  }

  corner(points, fill, edge = "", weight = 2) {
    const { pen } = this;
    pen.beginPath();
    points.forEach(([x, y], k) => (k ? pen.lineTo(x, y) : pen.moveTo(x, y)));
    pen.closePath();
    pen.fillStyle = fill;
    pen.fill();
    if (edge) { pen.strokeStyle = edge; pen.lineWidth = weight; pen.stroke(); }
  }

  head([x, y], [ux, uy], colour, size) {
    const back = [x - ux * size, y - uy * size], half = size * 0.45;
    this.corner([[x, y], [back[0] - uy * half, back[1] + ux * half], [back[0] + uy * half, back[1] - ux * half]], colour);
  }

  // An area in pixels, hatched to the right (turn 1) or to the left (-1).
  hatch(area, gap, colour, weight, dashed = false, turn = 1) {
    const { pen } = this, reach = this.width + this.height;
    pen.save();
    pen.clip(area, "evenodd");
    pen.strokeStyle = colour;
    pen.lineWidth = weight * 0.6;
    pen.beginPath();
    for (let k = -reach; k < reach; k += gap) { pen.moveTo(k, 0); pen.lineTo(k + turn * this.height, this.height); }
    pen.stroke();
    pen.restore();
    pen.strokeStyle = colour;
    pen.lineWidth = weight;
    pen.setLineDash(dashed ? [6, 5] : []);
    pen.stroke(area);
    pen.setLineDash([]);
  }

  arrow(x, y, dx, dy, reach = 8) {
    const [ax, ay] = this.at(x, y), tip = [ax + dx * reach, ay + dy * reach];
    this.stroke([[ax - dx * reach, ay - dy * reach], tip], GREY, 1.2);
    for (const side of [1, -1]) this.stroke([tip, [tip[0] - dx * 6 + side * dy * 4, tip[1] - dy * 6 - side * dx * 4]], GREY, 1.2);
  }

  // A footprint is a line with ticks at its ends; a wedge has its ring where it was slid in, a slope its head.
  // `fine`: drawn thinner, where many lie close.
  reading(mark, fine = false) {
    const [a, b] = this.ends(mark), weight = fine ? 1 : 1.8, size = fine ? 0.65 : 1;
    if (b) {
      const [ux, uy] = between(a, b), tick = 5 * size;
      if (!fine) this.stroke([a, b], "rgb(255 255 255 / .7)", 4);
      this.stroke([a, b], INK, weight, mark.rejected ? [5, 4] : []);
      for (const [x, y] of [a, b]) this.stroke([[x - uy * tick, y + ux * tick], [x + uy * tick, y - ux * tick]], INK, weight);
      if (mark.kind === "wedge") this.disc(b, 3.5 * size, "#fff", INK, weight);
      if (mark.kind === "slope") this.head(b, [ux, uy], INK, 9 * size);
    } else {
      this.disc(a, 4.5 * size, mark.kind === "height" ? INK : "#fff", mark.kind === "height" ? "#fff" : INK, 1.5);
    }
    if (!mark.rejected) return;
    const [x, y] = this.middle(mark);
    for (const side of [1, -1]) this.stroke([[x - 7, y - 7 * side], [x + 7, y + 7 * side]], WARN, 3.5);
  }

  // The heaviest line of the plan, from 1 to its head.
  next(mark) {
    const [a, b] = this.ends(mark);
    if (!b) { this.disc(a, 11, "", "#fff", 9); this.disc(a, 11, "", ASK, 4.5); return; }
    this.stroke([a, b], "#fff", 9);
    this.stroke([a, b], ASK, 5, [12, 8]);
    this.head(b, between(a, b), ASK, 18);
    this.badge("1", a, 9);
  }

  badge(text, at, radius) {
    const { pen } = this;
    this.disc(at, radius, ASK, "#fff", 2);
    pen.font = `700 ${radius * 1.4}px ${FACE}`;
    pen.textAlign = "center";
    pen.textBaseline = "middle";
    pen.fillStyle = "#fff";
    pen.fillText(text, at[0], at[1] + 0.5);
  }

  highSpot(spot) {
    const [a, b] = this.ends(spot), [x, y] = this.middle(spot);
    if (b) this.stroke([a, b], WARN, 1.8, [7, 4]);
    this.corner([[x, y - 9], [x + 9, y + 7], [x - 9, y + 7]], "#fff", WARN, 2.6);
  }

  extreme(fall) {
    const at = this.at(fall.x, fall.y);
    this.disc(at, 6, "#fff", INK, 1.6);
    this.disc(at, 2, INK);
  }

  // A puddle as it was seen, as wide as it was; dashed where nobody measured how wide.
  stain({ x, y, across }, scale) {
    const at = this.at(x, y), radius = Math.max(8, (across ?? 0) / 2 * scale);
    this.disc(at, radius, "", "#fff", 6);
    this.pen.setLineDash(across === null ? [5, 4] : []);
    this.disc(at, radius, "", ASK, 3);
    this.pen.setLineDash([]);
  }

  // Where a bucket is emptied or a head hangs.
  drop([x, y]) {
    const { pen } = this;
    pen.beginPath();
    pen.moveTo(x, y - 11);
    pen.bezierCurveTo(x + 3, y - 4, x + 8, y - 1, x + 8, y + 4);
    pen.arc(x, y + 4, 8, 0, Math.PI);
    pen.bezierCurveTo(x - 8, y - 1, x - 3, y - 4, x, y - 11);
    pen.fillStyle = INK;
    pen.fill();
    pen.strokeStyle = "#fff";
    pen.lineWidth = 2;
    pen.stroke();
  }

  drain(drain, scale) {
    const [x, y] = this.at(drain.x, drain.y), r = drain.radius * scale;
    this.disc([x, y], r, "#fff", INK, 2);
    this.stroke([[x - r, y], [x + r, y]], INK, 1);
    this.stroke([[x, y - r], [x, y + r]], INK, 1);
  }
}

// Weight of words against others; lines and symbols weigh 1 a spot.
const WORDS = 1000;

export class Labels {
  // box: left, top, right, bottom of the window in pixels, which no word leaves.
  constructor(pen, box) { Object.assign(this, { pen, box, taken: [] }); }

  // weight: how much it hurts to write over it.
  block(box, weight = 1) { this.taken.push([...box, weight]); }

  blockLine([ax, ay], [bx, by], half = 4) {
    const steps = Math.max(1, Math.ceil(Math.hypot(bx - ax, by - ay) / 8));
    for (let k = 0; k <= steps; k++) {
      const x = ax + (bx - ax) * k / steps, y = ay + (by - ay) * k / steps;
      this.block([x - half, y - half, x + half, y + half]);
    }
  }

  #covers(box) {
    return this.taken.reduce((sum, t) => (box[0] < t[2] && box[2] > t[0] && box[1] < t[3] && box[3] > t[1] ? sum + t[4] : sum), 0);
  }

  #inside(box) { return box[0] >= this.box[0] && box[2] <= this.box[2] && box[1] >= this.box[1] && box[3] <= this.box[3]; }

  // Words beside one of the points where they cover nothing put down before; `must`: rather cover lines than leave out,
  // but never other words: the table below the plan has them all.
  beside(text, points, reach, colour, size, must = false) {
    this.pen.font = `${must ? 700 : 500} ${size}px ${FACE}`;
    const wide = this.pen.measureText(text).width, half = size / 2 + 1;
    const [left, top, right, bottom] = this.box, boxes = [];
    for (const far of [1, 1.7, 2.6])
      for (const [x, y] of points) {
        if (x < left || x > right || y < top || y > bottom) continue;
        for (const [dx, dy] of AROUND) {
          const r = (dx && dy ? 0.7 * reach : reach) * far;
          const start = x + dx * r - (dx > 0 ? 0 : dx < 0 ? wide : wide / 2), middle = y + dy * (r + half);
          boxes.push([start - 2, middle - half, start + wide + 2, middle + half]);
        }
      }
    const fit = boxes.filter((box) => this.#inside(box)).map((box) => [this.#covers(box), box]);
    const best = fit.find(([cost]) => cost === 0)
      ?? (must ? fit.filter(([cost]) => cost < WORDS).sort((a, b) => a[0] - b[0])[0] : null);
    if (best) this.#put(text, best[1], colour);
  }

  // A contour's height on its line, at the first of a few places in view that is free.
  along(text, points, colour, size = 13) {
    const pieces = points.slice(1).map((p, k) => Math.hypot(p[0] - points[k][0], p[1] - points[k][1]));
    const length = pieces.reduce((sum, piece) => sum + piece, 0);
    if (length < 80) return;
    this.pen.font = `500 ${size}px ${FACE}`;
    const wide = this.pen.measureText(text).width;
    for (const share of [0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9, 0.03, 0.97]) {
      let left = length * share, k = 0;
      while (k < pieces.length - 1 && left > pieces[k]) left -= pieces[k++];
      const part = left / (pieces[k] || 1), [a, b] = [points[k], points[k + 1]];
      const x = a[0] + (b[0] - a[0]) * part, y = a[1] + (b[1] - a[1]) * part;
      const box = [x - wide / 2 - 3, y - size / 2 - 2, x + wide / 2 + 3, y + size / 2 + 2];
      if (!this.#inside(box) || this.#covers(box)) continue;
      this.#put(text, box, colour);
      return;
    }
  }

  #put(text, box, colour) {
    const { pen } = this, x = (box[0] + box[2]) / 2, y = (box[1] + box[3]) / 2;
    this.block(box, WORDS);
    pen.textBaseline = "middle";
    pen.textAlign = "center";
    pen.lineWidth = 4;
    pen.strokeStyle = "rgb(255 255 255 / .92)";
    pen.strokeText(text, x, y);
    pen.fillStyle = colour;
    pen.fillText(text, x, y);
  }
}
