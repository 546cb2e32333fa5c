// A storey as SVG: grid, walls, doors with their leaves, ceilings, starts and openings, what is chosen, what is being drawn.
import { written } from "./lengths.js";
import { THICKNESS, cell, closed, dist, key, legs } from "./storey_shape.js";

const INK = "#12212b", SOFT = "#42525e", ASK = "#b0005f", WATER = "#0a5a9e";
const FOOT = 0.3048;

const safe = (text) => text.replace(/[&<>"']/g, (mark) => `&#${mark.charCodeAt(0)};`);
const line = ([ax, ay], [bx, by], more) => `<path d="M${ax.toFixed(1)} ${ay.toFixed(1)}L${bx.toFixed(1)} ${by.toFixed(1)}" ${more}/>`;
const path = (points, more, end = "") => `<path d="M${points.map(([x, y]) => `${x.toFixed(1)} ${y.toFixed(1)}`).join("L")}${end}" ${more}/>`;

export function words(x, y, text, colour = INK, size = 15, more = 'text-anchor="middle"') {
  const place = `x="${x.toFixed(1)}" y="${y.toFixed(1)}" font-size="${size}" font-weight="600" ${more}`;
  return `<text ${place} stroke="#fff" stroke-width="4" stroke-linejoin="round">${safe(text)}</text><text ${place} fill="${colour}">${safe(text)}</text>`;
}

// view : at(point) to pixels, scale (pixels to the metre), width, height, plan(px, py);  made : what the page holds
export function draw(view, { list, chosen, leg, pen, preview, wrong }) {
  const parts = [grid(view)], order = ["ceiling", "wall", "door", "goal", "start"];
  for (const kind of order) for (const thing of list) if (thing.kind === kind) parts.push(DRAW[kind](view, thing, thing === chosen, wrong.has(thing)));
  if (chosen) parts.push(marked(view, chosen, leg));
  if (pen) { const [x, y] = view.at(pen); parts.push(`<circle cx="${x}" cy="${y}" r="11" fill="none" stroke="${ASK}" stroke-width="4"/>`); }
  if (preview) parts.push(drawn(view, preview));
  return parts.join("");
}

function grid({ at, scale, plan, width, height }) {
  const step = [FOOT, 5 * FOOT, 10 * FOOT, 50 * FOOT].find((size) => size * scale > 14) ?? 100 * FOOT;
  const [left, top] = plan(0, 0), [right, bottom] = plan(width, height), parts = [];
  for (let x = Math.ceil(left / step) * step; x < right; x += step) { const [px] = at({ x, y: 0 }); parts.push(`M${px.toFixed(1)} 0V${height}`); }
  for (let y = Math.ceil(bottom / step) * step; y < top; y += step) { const [, py] = at({ x: 0, y }); parts.push(`M0 ${py.toFixed(1)}H${width}`); }
  const bar = step * scale;
  return `<path d="${parts.join("")}" stroke="#d7dfe3" stroke-width="1" fill="none"/>`
    + `<path d="M12 ${height - 12}v-6m0 3h${bar.toFixed(1)}m0 3v-6" stroke="${SOFT}" stroke-width="2" fill="none"/>${words(18 + bar, height - 10, `${Math.round(step / FOOT)} ft`, SOFT, 13, "")}`;
}

function wall(view, thing, chosen, wrong) {
  const weight = Math.max(4, (thing.thickness ?? THICKNESS) * view.scale), end = closed(thing) ? "Z" : "";
  const points = thing.points.slice(0, end ? -1 : undefined).map(view.at);
  return path(points, `fill="none" stroke="${wrong ? "#a83a00" : chosen ? "#2f5d7c" : "#5b6b75"}" stroke-width="${weight.toFixed(1)}" stroke-linejoin="miter" stroke-linecap="square"`, end);
}

function door(view, thing, chosen, wrong) {
  const [a, b] = thing.points;
  if (!b) return "";
  const p = view.at(a), q = view.at(b), wide = dist(a, b) || 1, half = Math.max(5, THICKNESS * view.scale / 2 + 2);
  const nx = -(q[1] - p[1]) / Math.hypot(q[0] - p[0], q[1] - p[1]) * half, ny = (q[0] - p[0]) / Math.hypot(q[0] - p[0], q[1] - p[1]) * half;
  const colour = wrong ? "#a83a00" : WATER, parts = [line(p, q, `stroke="#fff" stroke-width="${(2 * half).toFixed(1)}"`)];
  for (const [x, y] of [p, q]) parts.push(line([x - nx, y - ny], [x + nx, y + ny], `stroke="${INK}" stroke-width="3"`));
  parts.push(line(p, q, `stroke="${colour}" stroke-width="2.5" stroke-dasharray="5 4"`));
  const leaf = key(cell(thing, "leaf"));
  if (leaf === "left" || leaf === "right") {
    const turn = leaf === "left" ? 1 : -1, tip = view.at({ x: a.x - turn * (b.y - a.y), y: a.y + turn * (b.x - a.x) }), r = wide * view.scale;
    parts.push(line(p, tip, `stroke="${colour}" stroke-width="4"`));
    parts.push(`<path d="M${tip[0].toFixed(1)} ${tip[1].toFixed(1)}A${r.toFixed(1)} ${r.toFixed(1)} 0 0 ${turn > 0 ? 1 : 0} ${q[0].toFixed(1)} ${q[1].toFixed(1)}" fill="none" stroke="${colour}" stroke-width="1.5"/>`);
  }
  if (wide * view.scale > 26 || chosen) parts.push(words((p[0] + q[0]) / 2 - nx * 2.4, (p[1] + q[1]) / 2 - ny * 2.4 + 5, thing.name, colour, 14));
  return parts.join("");
}

function ceiling(view, thing, chosen) {
  const points = thing.points.map(view.at), x = points.reduce((sum, p) => sum + p[0], 0) / points.length, y = points.reduce((sum, p) => sum + p[1], 0) / points.length;
  const label = `ceiling ${cell(thing, "height") || "?"}`;
  return path(points, `fill="#e9eef1" fill-opacity="0.5" stroke="${chosen ? ASK : SOFT}" stroke-width="2" stroke-dasharray="3 5"`, points.length > 2 ? "Z" : "") + words(x, y, label, SOFT, 13);
}

function start(view, thing, chosen) {
  const [x, y] = view.at(thing.points[0]);
  return `<circle cx="${x}" cy="${y}" r="9" fill="#fff" stroke="${chosen ? ASK : INK}" stroke-width="4"/>${words(x, y - 15, thing.name)}`;
}

// The opening of a pocket; the unit stands beyond it, seen from the room: right of the way from its left to its right end.
function goal(view, thing, chosen, wrong) {
  const [a, b] = thing.points.map(view.at);
  if (!b) return `<circle cx="${a[0]}" cy="${a[1]}" r="8" fill="${ASK}"/>`;
  const long = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1, ux = (b[0] - a[0]) / long, uy = (b[1] - a[1]) / long, deep = Math.max(14, 0.9 * view.scale);
  const inx = uy * deep, iny = -ux * deep, mx = (a[0] + b[0]) / 2, my = (a[1] + b[1]) / 2, colour = wrong ? "#a83a00" : ASK;
  return path([a, b, [b[0] + inx, b[1] + iny], [a[0] + inx, a[1] + iny]], `fill="${ASK}" fill-opacity="${chosen ? 0.28 : 0.14}" stroke="${colour}" stroke-width="1"`, "Z")
    + line(a, b, `stroke="${colour}" stroke-width="5"`)
    + words(mx + inx / 2, my + iny / 2 + 5, thing.name, colour);
}

const DRAW = { wall, door, ceiling, start, goal };

function marked(view, thing, leg) {
  const parts = [];
  if (thing.kind === "wall" && leg !== null && legs(thing)[leg]) {
    const [a, b] = legs(thing)[leg], p = view.at(a), q = view.at(b);
    parts.push(line(p, q, `stroke="${ASK}" stroke-width="5"`), length(p, q, dist(a, b)));
  }
  if (thing.kind === "door" || thing.kind === "goal") if (thing.points[1]) parts.push(length(view.at(thing.points[0]), view.at(thing.points[1]), dist(...thing.points), 44));
  for (const at of thing.points) { const [x, y] = view.at(at); parts.push(`<circle cx="${x}" cy="${y}" r="10" fill="#fff" fill-opacity="0.85" stroke="${ASK}" stroke-width="4"/>`); }
  return parts.join("");
}

// A length beside its line, on the upper side, never upside down.
function length(p, q, size, off = 20) {
  const long = Math.hypot(q[0] - p[0], q[1] - p[1]) || 1, side = q[0] < p[0] || (q[0] === p[0] && q[1] < p[1]) ? -1 : 1;
  const nx = (q[1] - p[1]) / long * side * off, ny = -(q[0] - p[0]) / long * side * off;
  return words((p[0] + q[0]) / 2 + nx, (p[1] + q[1]) / 2 + ny + 5, written(size), ASK, 18, `text-anchor="${Math.abs(nx) > off / 2 ? (nx > 0 ? "start" : "end") : "middle"}"`);
}

function drawn(view, { from, to }) {
  const q = view.at(to), cross = `stroke="${ASK}" stroke-width="1" stroke-dasharray="2 5"`;
  const parts = [line([0, q[1]], [view.width, q[1]], cross), line([q[0], 0], [q[0], view.height], cross), `<circle cx="${q[0]}" cy="${q[1]}" r="${to.by === "end" ? 14 : 8}" fill="none" stroke="${ASK}" stroke-width="3"/>`];
  if (from && dist(from, to) > 0) { const p = view.at(from); parts.push(line(p, q, `stroke="${ASK}" stroke-width="6" stroke-opacity="0.7"`), length(p, q, dist(from, to), 30)); }
  return parts.join("");
}
