// The water's frames, and how they are drawn: Film mixes two frames into one small image that is scaled up smoothly.
// Nothing is made anew while it plays: one image of a pixel a node is refilled and put down.
import { INCH } from "./tools.js";

// One blue, lighter to darker all the way: it reads in grey, and to every kind of colour vision.
const RAMP = [[226, 240, 250], [176, 213, 237], [108, 173, 219], [46, 122, 186], [13, 77, 137], [6, 40, 84]];
const TOPS = [1 / 16, 1 / 8, 1 / 4, 1 / 2, 1].map((inches) => inches * INCH);
const STEPS = 2048;
const FADES = 4e-5; // m: thinner than this a film fades out and shows the floor

// Colour of a depth, m, on the scale that ends at `top`: by the root, so that a film and a pond can both be told.
function colour(depth, top) {
  const place = Math.min(1, Math.sqrt(depth / top)) * (RAMP.length - 1), k = Math.min(RAMP.length - 2, Math.floor(place));
  return RAMP[k].map((part, n) => Math.round(part + (RAMP[k + 1][n] - part) * (place - k)));
}

// Index of the last value that is not above `wanted`; `from` is where it was before.
function before(values, wanted, from) {
  let k = values[from] <= wanted ? from : 0;
  while (k + 2 < values.length && values[k + 1] <= wanted) k++;
  return k;
}

export class Film {
  constructor(canvas) {
    Object.assign(this, { canvas, play: null, time: 0, k: 0, scale: 0 });
    this.pen = canvas.getContext("2d");
    this.pen.save();
    this.small = document.createElement("canvas");
  }

  load(play) {
    const { nx, ny } = play.grid, size = nx * ny, packed = atob(play.depth), codes = new Uint8Array(packed.length);
    for (let n = 0; n < packed.length; n++) codes[n] = packed.charCodeAt(n) + (n < size ? 0 : codes[n - size]);
    this.play = play;
    this.codes = codes;
    this.size = size;
    this.k = 0;
    this.top = TOPS.find((top) => top >= play.most) ?? TOPS.at(-1);
    this.depths = Float32Array.from({ length: 256 }, (_, code) => Math.min(1, play.most * (code / 255) ** 2 / this.top) * (STEPS - 1));
    const bytes = new Uint8ClampedArray(4 * STEPS);
    for (let n = 0; n < STEPS; n++) {
      const depth = this.top * n / (STEPS - 1);
      bytes.set([...colour(depth, this.top), 255 * Math.min(1, depth / FADES)], 4 * n);
    }
    this.colours = new Uint32Array(bytes.buffer);
    this.small.width = nx;
    this.small.height = ny;
    this.smallPen = this.small.getContext("2d");
    this.image = this.smallPen.createImageData(nx, ny);
    this.pixels = new Uint32Array(this.image.data.buffer);
    this.lost = play.spill.reduce((sums, flow, n) => {
      sums.push(n ? sums[n - 1] + (flow + play.spill[n - 1]) / 2 * (play.t[n] - play.t[n - 1]) : 0);
      return sums;
    }, []);
    this.seek(Math.min(this.time, play.end));
  }

  // The plan lies over the film: both show the same part of the floor.
  place(plan) {
    const { canvas, pen } = this, ratio = devicePixelRatio || 1, [left, top, right, bottom] = plan.window;
    const wide = Math.round(plan.width * ratio), high = Math.round(plan.height * ratio);
    if (canvas.width !== wide || canvas.height !== high) Object.assign(canvas, { width: wide, height: high });
    pen.restore();
    pen.save();
    pen.setTransform(ratio, 0, 0, ratio, 0, 0);
    pen.clearRect(0, 0, plan.width, plan.height);
    pen.beginPath();
    pen.rect(left, top, right - left, bottom - top);
    pen.clip();
    pen.imageSmoothingEnabled = true;
    const { x0, y0 } = this.play.grid;
    [this.left, this.up] = plan.at(x0, y0);
    this.scale = plan.scale;
    this.paint();
  }

  seek(time) {
    const { play, codes, size, depths, colours, pixels } = this;
    this.time = time;
    this.k = before(play.t, time, this.k);
    const { t } = play, k = this.k, share = Math.min(1, Math.max(0, (time - t[k]) / (t[k + 1] - t[k] || 1)));
    for (let n = 0, a = k * size, b = Math.min(k + 1, t.length - 1) * size; n < size; n++, a++, b++) {
      const from = depths[codes[a]];
      pixels[n] = colours[(from + (depths[codes[b]] - from) * share) | 0];
    }
    this.smallPen.putImageData(this.image, 0, 0);
    this.paint();
  }

  paint() {
    if (!this.scale) return;
    const { nx, ny, dx, dy } = this.play.grid, { pen, left, up } = this, wide = (nx - 1) * dx * this.scale, high = (ny - 1) * dy * this.scale;
    pen.fillStyle = "#fff";
    pen.fillRect(left, up, wide, high);
    if (!this.hidden) pen.drawImage(this.small, 0.5, 0.5, nx - 1, ny - 1, left, up, wide, high); // middle to middle of the nodes at the edges
  }

  hide(hidden) {
    this.hidden = hidden;
    if (this.play) this.paint();
  }

  // A quantity of the play at the time that is shown.
  at(values) {
    const { t } = this.play, k = this.k, share = Math.min(1, Math.max(0, (this.time - t[k]) / (t[k + 1] - t[k] || 1)));
    return values[k] + ((values[k + 1] ?? values[k]) - values[k]) * share;
  }

  // Depths for the key, m, with their colours along the scale, deepest last.
  key() {
    const marks = [1 / 64, 1 / 32, 1 / 16, 1 / 8, 1 / 4, 1 / 2, 1].map((inches) => inches * INCH).filter((depth) => depth <= this.top * 1.001);
    const stops = Array.from({ length: 21 }, (_, n) => `rgb(${colour(this.top * (n / 20) ** 2, this.top)}) ${5 * n}%`);
    return { marks: marks.map((depth) => [depth, Math.sqrt(depth / this.top)]), gradient: `linear-gradient(90deg, ${stops})` };
  }
}
