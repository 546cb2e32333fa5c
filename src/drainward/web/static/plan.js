// One floor on a canvas: Plan holds the view (pinch, drag, zoom, tap) and the order of drawing; legend names what is drawn.
import { ASK, DEEP, GREY, INK, Ink, Labels, WARN, WATER } from "./ink.js";
import { INCH, make, trade } from "./tools.js";

const LEFT = 36, TOP = 24, RIGHT = 11, BOTTOM = 36;
const MOST_ZOOM = 12;
const LIKELY = 0.5; // what is less likely than not is in the table of numbers, and faint or not on the plan

export class Plan {
  // onTap gets plan metres and the scale, pixels to the metre.
  constructor(canvas, onTap) {
    Object.assign(this, { canvas, onTap, picture: null, show: "floor", entry: null, zoom: 1, centre: null });
    new ResizeObserver(() => this.resize()).observe(canvas);
    this.#fingers(canvas);
  }

  set(picture) {
    const path = (lines, closed) => {
      const drawn = new Path2D();
      for (const points of lines) {
        points.forEach(([x, y], k) => (k ? drawn.lineTo(x, y) : drawn.moveTo(x, y)));
        if (closed) drawn.closePath();
      }
      return drawn;
    };
    this.picture = { ...picture, high_spots: picture.high_spots.filter((spot) => spot.probability >= LIKELY) };
    this.bands = picture.bands.map((band) => [band.colour, path(band.paths, true)]);
    this.lines = picture.contours.map((line) => [line.main, path(line.paths, false)]);
    this.water = picture.ponds.map((pond) => [pond, path(pond.paths, true)]);
    this.beds = picture.mortar.map((bed) => [bed, path(bed.paths, true)]);
    this.centre ??= [picture.width / 2, picture.depth / 2];
    this.resize();
  }

  resize() {
    if (!this.picture || !this.canvas.clientWidth) return;
    const { width, depth } = this.picture, ratio = devicePixelRatio || 1;
    this.width = this.canvas.clientWidth;
    const across = this.width - LEFT - RIGHT;
    this.height = Math.min(across * depth / width, Math.max(260, innerHeight * 0.62)) + TOP + BOTTOM;
    this.fit = Math.min(across / width, (this.height - TOP - BOTTOM) / depth);
    this.canvas.style.height = `${this.height}px`;
    this.canvas.width = Math.round(this.width * ratio);
    this.canvas.height = Math.round(this.height * ratio);
    this.draw();
  }

  // The middle of the window shows `centre`.
  get scale() { return this.fit * this.zoom; }
  get window() { return [LEFT, TOP, this.width - RIGHT, this.height - BOTTOM]; }
  get middle() { return [(LEFT + this.width - RIGHT) / 2, (TOP + this.height - BOTTOM) / 2]; }
  at(x, y) {
    const [mx, my] = this.middle;
    return [mx + (x - this.centre[0]) * this.scale, my + (y - this.centre[1]) * this.scale];
  }
  plan(px, py) {
    const [mx, my] = this.middle;
    return [this.centre[0] + (px - mx) / this.scale, this.centre[1] + (py - my) / this.scale];
  }

  zoomAbout(px, py, factor) {
    const [x, y] = this.plan(px, py);
    this.zoom = Math.min(MOST_ZOOM, Math.max(1, this.zoom * factor));
    const [nx, ny] = this.plan(px, py);
    this.moveBy(x - nx, y - ny);
  }

  moveBy(dx, dy) {
    const { width, depth } = this.picture, [mx, my] = this.middle;
    const clamp = (value, size, half) => (size / 2 <= half ? size / 2 : Math.min(size - half, Math.max(half, value)));
    this.centre = [
      clamp(this.centre[0] + dx, width, (mx - LEFT) / this.scale),
      clamp(this.centre[1] + dy, depth, (my - TOP) / this.scale),
    ];
    this.draw();
  }

  whole() { this.zoom = 1; this.moveBy(0, 0); }

  #fingers(canvas) {
    const down = new Map();
    let began = null;
    const place = (event) => { const box = canvas.getBoundingClientRect(); return [event.clientX - box.left, event.clientY - box.top]; };
    canvas.addEventListener("pointerdown", (event) => {
      if (event.button || !this.picture) return;
      canvas.setPointerCapture(event.pointerId);
      down.set(event.pointerId, place(event));
      began = down.size === 1 ? { at: place(event), moved: false } : null;
    });
    canvas.addEventListener("pointermove", (event) => {
      if (!down.has(event.pointerId)) return;
      const before = [...down.values()], was = down.get(event.pointerId), now = place(event);
      down.set(event.pointerId, now);
      if (down.size === 2) this.#pinch(before, [...down.values()]);
      if (!began) return;
      began.moved ||= Math.hypot(now[0] - began.at[0], now[1] - began.at[1]) > 9;
      if (!began.moved) return;
      // The whole floor in view has nowhere to go: a finger that drags on it means to scroll the page.
      if (this.zoom > 1) this.moveBy((was[0] - now[0]) / this.scale, (was[1] - now[1]) / this.scale);
      else if (event.pointerType === "touch") scrollBy(0, was[1] - now[1]);
    });
    const up = (event) => {
      if (!down.delete(event.pointerId)) return;
      if (event.type === "pointerup" && began && !began.moved) this.onTap(...this.plan(...began.at), this.scale);
      began = null;
    };
    canvas.addEventListener("pointerup", up);
    canvas.addEventListener("pointercancel", up);
    canvas.addEventListener("wheel", (event) => {
      if (!event.ctrlKey || !this.picture) return; // a plain wheel scrolls the page
      event.preventDefault();
      this.zoomAbout(...place(event), Math.exp(-event.deltaY / 200));
    }, { passive: false });
    canvas.addEventListener("keydown", (event) => this.#key(event));
  }

  #pinch([a, b], [c, d]) {
    const spread = (p, q) => Math.max(20, Math.hypot(p[0] - q[0], p[1] - q[1]));
    const middle = (p, q) => [(p[0] + q[0]) / 2, (p[1] + q[1]) / 2];
    const from = middle(a, b), to = middle(c, d);
    this.moveBy((from[0] - to[0]) / this.scale, (from[1] - to[1]) / this.scale);
    this.zoomAbout(...to, spread(c, d) / spread(a, b));
  }

  #key(event) {
    if (!this.picture || event.ctrlKey || event.metaKey || (event.key.startsWith("Arrow") && this.zoom === 1)) return;
    const step = 60 / this.scale;
    const does = {
      ArrowLeft: () => this.moveBy(-step, 0), ArrowRight: () => this.moveBy(step, 0),
      ArrowUp: () => this.moveBy(0, -step), ArrowDown: () => this.moveBy(0, step),
      "+": () => this.zoomAbout(...this.middle, 1.5), "-": () => this.zoomAbout(...this.middle, 1 / 1.5), 0: () => this.whole(),
    }[event.key];
    if (!does) return;
    event.preventDefault();
    does();
  }

  draw() {
    const pen = this.canvas.getContext("2d"), ratio = devicePixelRatio || 1, [left, top, right, bottom] = this.window;
    this.pen = pen;
    this.ink = new Ink(pen, (x, y) => this.at(x, y), this.width, this.height);
    this.labels = new Labels(pen, this.window);
    pen.setTransform(ratio, 0, 0, ratio, 0, 0);
    pen.clearRect(0, 0, this.width, this.height);
    pen.lineCap = pen.lineJoin = "round";
    pen.save();
    pen.beginPath();
    pen.rect(left - 3, top - 3, right - left + 6, bottom - top + 6);
    pen.clip();
    if (this.show === "floor") this.#floor();
    this.#walls();
    if (this.show === "floor") this.#floorWords(); else this.#mortar();
    if (this.entry) this.#entry();
    pen.restore();
    this.#rulers();
  }

  // Draws in plan metres; `px` is the width of one pixel there.
  #inPlan(draw) {
    const { pen } = this, [x, y] = this.at(0, 0);
    pen.save();
    pen.translate(x, y);
    pen.scale(this.scale, this.scale);
    draw(pen, 1 / this.scale);
    pen.restore();
  }

  #inPixels(path) {
    const [x, y] = this.at(0, 0), area = new Path2D();
    area.addPath(path, new DOMMatrix([this.scale, 0, 0, this.scale, x, y]));
    return area;
  }

  #floor() {
    const { picture, ink } = this;
    this.#inPlan((pen, px) => {
      for (const [colour, path] of this.bands) {
        pen.fillStyle = pen.strokeStyle = colour;
        pen.lineWidth = px; // covers the hairline between two neighbours
        pen.fill(path, "evenodd");
        pen.stroke(path);
      }
    });
    for (const arrow of this.#thinned(picture.arrows)) ink.arrow(...arrow);
    this.#inPlan((pen, px) => {
      pen.strokeStyle = GREY;
      for (const [main, path] of this.lines) { pen.lineWidth = (main ? 2 : 0.9) * px; pen.stroke(path); }
    });
    for (const [pond, path] of this.water) {
      const likely = pond.chance >= LIKELY;
      ink.hatch(this.#inPixels(path), likely ? 6 : 11, WATER, likely ? 2.6 : 1.2, !likely);
    }
    for (const spot of picture.high_spots) ink.highSpot(spot);
    const fine = picture.readings.length / (this.scale * this.scale * picture.width * picture.depth) > 20 / 75_000; // 20 on a phone's plan
    for (const mark of picture.readings) ink.reading(mark, fine);
    for (const fall of picture.falls) ink.extreme(fall);
    if (picture.next && !this.entry) ink.next(picture.next);
  }

  // As many arrows as leave room to see the floor: every one, every second, ... of their grid.
  #thinned(arrows) {
    const steps = [0, 1].map((axis) => {
      const places = [...new Set(arrows.map((arrow) => arrow[axis]))].sort((a, b) => a - b);
      const gap = Math.min(...places.slice(1).map((place, k) => place - places[k]));
      const stride = Math.max(1, Math.ceil(34 / (gap * this.scale)));
      return new Map(places.map((place, k) => [place, k % stride === Math.floor(stride / 2)]));
    });
    return arrows.filter((arrow) => steps[0].get(arrow[0]) && steps[1].get(arrow[1]));
  }

  // Most important first: what comes later gives way.
  #floorWords() {
    const { picture, ink, labels } = this, next = this.entry ? null : picture.next;
    this.#blockDrain();
    if (this.entry) {
      const ends = this.entry.points.filter(Boolean).map((point) => this.at(...point));
      if (ends.length) labels.blockLine(ends[0], ends.at(-1), 12);
    }
    for (const mark of [...picture.readings, ...picture.high_spots, ...(next ? [next] : [])]) {
      const [a, b] = ink.ends(mark);
      labels.blockLine(a, b ?? a, mark === next ? 8 : 5);
    }
    for (const fall of picture.falls) labels.blockLine(ink.at(fall.x, fall.y), ink.at(fall.x, fall.y), 7);
    if (next) labels.beside("read here next", [ink.middle(next), ...ink.ends(next).filter(Boolean)], 13, ASK, 14, true);
    for (const pond of picture.ponds)
      if (pond.label) labels.beside(`pond ${pond.label}`, [ink.at(pond.x, pond.y)], this.#reach(pond), DEEP, 14, true);
    for (const spot of picture.high_spots) labels.beside(`high ${spot.label}`, [ink.middle(spot)], 11, WARN, 14, true);
    labels.beside("drain", [ink.at(picture.drain.x, picture.drain.y)], picture.drain.radius * this.scale + 4, INK, 13);
    for (const fall of picture.falls)
      labels.beside(`${fall.kind.split(" ")[0]} ${fall.label}`, [ink.at(fall.x, fall.y)], 8, INK, 13);
    if (this.scale > 330)
      for (const mark of picture.readings) labels.beside(String(mark.number), [ink.middle(mark)], 7, INK, 13);
    for (const line of picture.contours) {
      const longest = line.paths.reduce((best, path) => (path.length > best.length ? path : best), []);
      if (longest.length > 1) labels.along(line.label, longest.map(([x, y]) => this.at(x, y)), "#3d3d3d");
    }
  }

  // From an area's middle to clear of its outline, pixels, but never far away.
  #reach(area) {
    const top = Math.min(...area.paths.flat().map((point) => point[1]));
    return Math.min(70, Math.max(8, Number.isFinite(top) ? (area.y - top) * this.scale + 4 : 8));
  }

  #blockDrain() {
    const { drain } = this.picture, [x, y] = this.at(drain.x, drain.y), r = drain.radius * this.scale;
    this.labels.block([x - r - 2, y - r - 2, x + r + 2, y + r + 2], 50);
  }

  #mortar() {
    const { ink, labels, picture } = this;
    this.#blockDrain();
    for (const [bed, path] of this.beds) {
      const out = bed.do.startsWith("take");
      ink.hatch(this.#inPixels(path), out ? 6 : 9, out ? WARN : WATER, 2.4, false, out ? 1 : -1);
      ink.disc(ink.at(bed.x, bed.y), 4, out ? WARN : WATER, "#fff", 1.5);
    }
    for (const bed of picture.mortar)
      labels.beside(bed.label, [ink.at(bed.x, bed.y)], this.#reach(bed), bed.do.startsWith("take") ? WARN : DEEP, 15, true);
    labels.beside("drain", [ink.at(picture.drain.x, picture.drain.y)], picture.drain.radius * this.scale + 4, INK, 13);
  }

  #walls() {
    const { width, depth, drain } = this.picture;
    const corners = [[0, depth], [0, 0], [width, 0], [width, depth]].map((corner) => this.at(...corner));
    this.ink.drain(drain, this.scale);
    this.ink.stroke(corners, INK, 5);
    this.ink.stroke([corners[0], corners[3]], INK, 1.8, [9, 6]);
  }

  #entry() {
    const { kind, points, active } = this.entry, { ink } = this;
    const [a, b] = points.map((point) => point && this.at(...point)), two = kind !== "height";
    if (a && b && two) { ink.stroke([a, b], "#fff", 9); ink.stroke([a, b], ASK, 5); }
    for (const [n, end] of [[1, a], [2, two ? b : null]]) {
      if (!end) continue;
      ink.badge(String(n), end, 12);
      if (active === n) ink.disc(end, 17, "", ASK, 2);
    }
  }

  // Tapes along the back and the left wall, a bar for the scale, and where the opening is.
  #rulers() {
    const { pen, picture, ink } = this, [left, top, right, bottom] = this.window;
    const step = [1, 3, 6, 12].find((inches) => inches * INCH * this.scale >= 38) ?? 24;
    pen.fillStyle = INK;
    pen.textBaseline = "middle";
    pen.font = "500 12px system-ui, sans-serif";
    for (let inch = 0; inch * INCH <= picture.width + 1e-6; inch += step) {
      const [x] = this.at(inch * INCH, 0);
      if (x < left - 2 || x > right + 2) continue;
      ink.stroke([[x, top - 8], [x, top - 4]], INK, 1);
      pen.textAlign = "center";
      if (inch) pen.fillText(`${inch}"`, Math.min(x, this.width - 13), top - 15);
    }
    for (let inch = 0; inch * INCH <= picture.depth + 1e-6; inch += step) {
      const [, y] = this.at(0, inch * INCH);
      if (y < top - 2 || y > bottom + 2) continue;
      ink.stroke([[left - 8, y], [left - 4, y]], INK, 1);
      pen.textAlign = "right";
      if (inch) pen.fillText(`${inch}"`, left - 10, y);
    }
    const y = this.height - 19, [inches, name] = [[12, "1 ft"], [3, '3"'], [1, '1"']].find(([n]) => n * INCH * this.scale <= this.width * 0.4) ?? [1, '1"'];
    const long = inches * INCH * this.scale;
    pen.fillRect(left, y, long / 2, 7);
    pen.strokeRect(left, y, long, 7);
    pen.font = "600 13px system-ui, sans-serif";
    pen.textAlign = "left";
    pen.fillText(name, left + long + 7, y + 4);
    pen.fillText("back", 2, 9);
    pen.textAlign = "right";
    pen.fillText("opening, you stand here", right, y + 4);
  }
}

// Only what the plan shows, each with a sample drawn by the same ink.
export function legend(plan, box) {
  const { picture, show } = plan;
  box.replaceChildren();
  if (show === "floor") {
    const ramp = make("div", { class: "scale", "aria-hidden": "true" }), ends = make("div", { class: "ends" });
    for (const band of picture.bands) { const part = make("i"); part.style.background = band.colour; ramp.append(part); }
    for (const words of [`low ${trade(picture.scale.low, 32)}`, `lines ${picture.scale.step_label} apart`, `high ${trade(picture.scale.high, 32)}`])
      ends.append(make("span", {}, words));
    box.append(ramp, ends);
  }
  const list = make("ul");
  for (const [there, words, draw] of show === "floor" ? floorKey(picture) : mortarKey(picture)) {
    if (!there) continue;
    const item = make("li"), canvas = make("canvas", { "aria-hidden": "true" }), ratio = devicePixelRatio || 1;
    canvas.width = 42 * ratio;
    canvas.height = 22 * ratio;
    const pen = canvas.getContext("2d");
    pen.scale(ratio, ratio);
    draw(new Ink(pen, (x, y) => [x + 6, y + 11], 42, 22));
    item.append(canvas, make("span", {}, words));
    list.append(item);
  }
  box.append(list);
}

const LINE = { x: 0, y: 0, x2: 30, y2: 0, rejected: false };

function floorKey(picture) {
  const has = (kind) => picture.readings.some((mark) => mark.kind === kind);
  return [
    [picture.next, "read here next, from 1", (ink) => ink.next({ ...LINE, x: 4, x2: 34 })],
    [picture.arrows.length, "water runs this way", (ink) => ink.arrow(15, 0, 1, 0, 12)],
    [picture.ponds.some((pond) => pond.chance >= LIKELY), "water stands, likely", (ink) => ink.hatch(square(), 6, WATER, 2.4)],
    [picture.ponds.some((pond) => pond.chance < LIKELY), "water may stand", (ink) => ink.hatch(square(), 11, WATER, 1.2, true)],
    [picture.high_spots.length, "high spot", (ink) => ink.highSpot(LINE)],
    [picture.falls.length, "least, greatest fall", (ink) => ink.extreme({ x: 15, y: 0 })],
    [has("slope"), "slope read", (ink) => ink.reading({ ...LINE, kind: "slope" })],
    [has("wedge"), "gap read, at the ring", (ink) => ink.reading({ ...LINE, kind: "wedge" })],
    [has("chord"), "straightedge", (ink) => ink.reading({ ...LINE, kind: "chord" })],
    [has("height"), "spot height", (ink) => ink.reading({ ...LINE, x: 15, x2: null, kind: "height" })],
    [picture.readings.some((mark) => mark.rejected), "not used", (ink) => ink.reading({ ...LINE, kind: "chord", rejected: true })],
  ];
}

function mortarKey(picture) {
  const out = (bed) => bed.do.startsWith("take");
  return [
    [picture.mortar.some(out), "take mortar out", (ink) => ink.hatch(square(), 6, WARN, 2)],
    [!picture.mortar.every(out), "put mortar in", (ink) => ink.hatch(square(), 9, WATER, 2, false, -1)],
  ];
}

function square() {
  const path = new Path2D();
  path.rect(2, 3, 38, 16);
  return path;
}
