// One floor on a canvas: Plan holds the view (pinch, drag, zoom, tap) and the order of drawing.
import { ASK, DEEP, GREY, INK, Ink, Labels, WARN, WATER } from "./ink.js";
import { INCH } from "./tools.js";

const LEFT = 36, TOP = 24, RIGHT = 11, BOTTOM = 36;
const MOST_ZOOM = 12;
export const LIKELY = 0.5; // what is less likely than not is in the table of numbers, and faint or not on the plan

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
    if (this.show === "water") this.#water();
    this.#walls();
    if (this.show === "floor") this.#floorWords();
    else if (this.show === "water") this.#waterWords();
    else this.#mortar();
    if (this.entry?.kind === "puddles") this.#puddles();
    else if (this.entry) this.#entry();
    pen.restore();
    this.#rulers();
    this.onView?.();
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
    this.#contours(GREY);
    this.#ponds();
    for (const spot of picture.high_spots) ink.highSpot(spot);
    const fine = picture.readings.length / (this.scale * this.scale * picture.width * picture.depth) > 20 / 75_000; // 20 on a phone's plan
    for (const mark of picture.readings) ink.reading(mark, fine);
    for (const fall of picture.falls) ink.extreme(fall);
    if (picture.next && !this.entry) ink.next(picture.next);
  }

  #contours(colour) {
    this.#inPlan((pen, px) => {
      pen.strokeStyle = colour;
      for (const [main, path] of this.lines) { pen.lineWidth = (main ? 2 : 0.9) * px; pen.stroke(path); }
    });
  }

  #ponds() {
    for (const [pond, path] of this.water) {
      const likely = pond.chance >= LIKELY;
      this.ink.hatch(this.#inPixels(path), likely ? 6 : 11, WATER, likely ? 2.6 : 1.2, !likely);
    }
  }

  // The film lies below this canvas: here are the floor's lines, where water may stay once only drops run, what was seen.
  #water() {
    this.#contours("rgb(90 90 90 / .45)");
    if (this.seeing) return;
    if (this.settled) this.#ponds();
    for (const stain of this.picture.seen) this.ink.stain(stain, this.scale);
    if (this.picture.place) this.ink.drop(this.at(...this.picture.place));
  }

  #waterWords() {
    const { picture, ink, labels } = this;
    this.#blockDrain();
    if (!this.seeing) {
      for (const stain of picture.seen) {
        const reach = Math.max(9, (stain.across ?? 0) / 2 * this.scale) + 3;
        labels.beside(stain.label, [ink.at(stain.x, stain.y)], reach, ASK, 14, true);
      }
      if (this.settled)
        for (const pond of picture.ponds)
          if (pond.label) labels.beside(`${pond.chance >= LIKELY ? "stands" : "may stand"} ${pond.label}`, [ink.at(pond.x, pond.y)], this.#reach(pond), DEEP, 14, true);
      if (picture.place) labels.beside(picture.place[2], [ink.at(...picture.place)], 14, INK, 13);
    }
    labels.beside("drain", [ink.at(picture.drain.x, picture.drain.y)], picture.drain.radius * this.scale + 4, INK, 13);
  }

  // Puddles as they are being entered.
  #puddles() {
    const { ink } = this, { marks, at } = this.entry;
    marks.forEach(({ x, y }, n) => {
      ink.badge(String(n + 1), this.at(x, y), 13);
      if (n === at) ink.disc(this.at(x, y), 18, "", ASK, 2);
    });
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
