// The window on a storey: fingers, pinch, zoom; metres to pixels and back, y up.
import { box } from "./storey_shape.js";

const TAP = 9, EDGE = 44, FIRST = 12; // px; px; m shown where nothing is drawn

export class View {
  // on : begin(raw), drag(grip, raw), drop(grip, raw, tapped), leave(grip), paint(); held: a place not to be hidden
  constructor(sheet, on) {
    Object.assign(this, { sheet, on, scale: 30, x: 0, y: 0, width: 0, height: 0, fingers: new Map(), grip: null });
    for (const [name, act] of [["pointerdown", this.#down], ["pointermove", this.#move], ["pointerup", this.#up], ["pointercancel", this.#cancel]]) sheet.addEventListener(name, act.bind(this));
    sheet.addEventListener("wheel", (event) => { event.preventDefault(); this.zoom(event.deltaY < 0 ? 1.15 : 1 / 1.15, ...this.#place(event)); on.paint(); }, { passive: false });
    this.at = ({ x, y }) => [this.width / 2 + (x - this.x) * this.scale, this.height / 2 - (y - this.y) * this.scale];
    this.plan = (px, py) => [this.x + (px - this.width / 2) / this.scale, this.y - (py - this.height / 2) / this.scale];
    this.#size();
    new ResizeObserver(() => { this.#size(); on.paint(); }).observe(sheet.parentNode);
  }

  // What is drawn stays under the finger when the panel below grows, but for what it would hide of the thing chosen.
  #size() {
    const { width, height } = this.sheet.parentNode.getBoundingClientRect();
    if (this.width) { this.x += (width - this.width) / 2 / this.scale; this.y -= (height - this.height) / 2 / this.scale; }
    Object.assign(this, { width, height });
    this.sheet.setAttribute("viewBox", `0 0 ${width} ${height}`);
    const kept = this.on.held;
    if (kept) this.see(kept);
  }

  whole(list) {
    const found = box(list);
    const [left, low, right, high] = found ?? [-1, -1, FIRST - 1, FIRST - 1];
    Object.assign(this, { x: (left + right) / 2, y: (low + high) / 2 });
    this.scale = Math.min(200, Math.max(4, Math.min((this.width - 2 * EDGE) / Math.max(right - left, 1), (this.height - 2 * EDGE) / Math.max(high - low, 1))));
  }

  // Brings a place into the window where it is not.
  see(at) {
    const [px, py] = this.at(at), out = (value, most) => Math.max(0, value - most + EDGE) + Math.min(0, value - EDGE);
    this.x += out(px, this.width) / this.scale;
    this.y -= out(py, this.height) / this.scale;
  }

  zoom(by, px = this.width / 2, py = this.height / 2) {
    const [x, y] = this.plan(px, py);
    this.scale = Math.min(600, Math.max(2, this.scale * by));
    const [x2, y2] = this.plan(px, py);
    this.x += x - x2;
    this.y += y - y2;
  }

  #place({ clientX, clientY }) {
    const { left, top } = this.sheet.getBoundingClientRect();
    return [clientX - left, clientY - top];
  }

  #raw(event) {
    const [x, y] = this.plan(...this.#place(event));
    return { x, y };
  }

  #down(event) {
    if (event.button > 0) return;
    this.sheet.setPointerCapture(event.pointerId);
    this.fingers.set(event.pointerId, this.#place(event));
    if (this.fingers.size === 1) Object.assign(this, { grip: this.on.begin(this.#raw(event)), first: this.#place(event), moved: false, pinched: false });
    else if (!this.pinched) { this.pinched = true; if (this.grip) this.on.leave(this.grip); this.grip = null; }
  }

  #move(event) {
    const before = this.fingers.get(event.pointerId), now = this.#place(event);
    if (!before) return;
    if (this.fingers.size > 1) { this.#pinch(event.pointerId, before, now); return; }
    if (!this.moved && Math.hypot(now[0] - this.first[0], now[1] - this.first[1]) > TAP) this.moved = true;
    this.fingers.set(event.pointerId, now);
    if (!this.moved || this.pinched) return;
    if (this.grip) { this.on.drag(this.grip, this.#raw(event)); return; }
    this.x -= (now[0] - before[0]) / this.scale;
    this.y += (now[1] - before[1]) / this.scale;
    this.on.paint();
  }

  #pinch(id, before, now) {
    const other = [...this.fingers].find(([key]) => key !== id)[1], far = (p) => Math.max(20, Math.hypot(p[0] - other[0], p[1] - other[1]));
    const middle = [(now[0] + other[0]) / 2, (now[1] + other[1]) / 2];
    this.x -= (now[0] - before[0]) / 2 / this.scale;
    this.y += (now[1] - before[1]) / 2 / this.scale;
    this.zoom(far(now) / far(before), ...middle);
    this.fingers.set(id, now);
    this.on.paint();
  }

  #up(event) {
    if (!this.fingers.delete(event.pointerId)) return;
    if (this.fingers.size || this.pinched) return;
    this.on.drop(this.grip, this.#raw(event), !this.moved);
    this.grip = null;
  }

  #cancel(event) {
    if (!this.fingers.delete(event.pointerId) || !this.grip) return;
    this.on.leave(this.grip);
    this.grip = null;
  }
}
