// Small helpers of the page's script: nodes, ids, trade lengths, requests.
export const INCH = 0.0254;

export const find = (selector, root = document) => root.querySelector(selector);
export const all = (selector, root = document) => [...root.querySelectorAll(selector)];
export const pause = (ms) => new Promise((done) => setTimeout(done, ms));

export function make(tag, attributes = {}, text = "") {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) node.setAttribute(name, value);
  node.textContent = text;
  return node;
}

// A version 4 UUID; getRandomValues works on plain http too, where randomUUID is absent.
export function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

export function trade(metres, parts = 8) {
  const steps = Math.round(Math.abs(metres) / INCH * parts);
  const whole = Math.floor(steps / parts);
  let over = steps % parts, under = parts;
  while (over && over % 2 === 0) { over /= 2; under /= 2; }
  const text = over ? `${whole ? `${whole}-` : ""}${over}/${under}` : `${whole}`;
  return `${metres < 0 && steps ? "-" : ""}${text}"`;
}

// Only for drawing while a place is typed: the server reads what is sent, strictly.
export function roughly(text) {
  const parts = /^\s*(-?)(\d+(?:\.\d+)?)?(?:[- ]?(\d+)\/(\d+))?\s*("|in|mm)?\s*$/.exec(text);
  if (!parts || (parts[2] === undefined && !parts[3])) return null;
  const size = Number(parts[2] ?? 0) + (parts[3] ? Number(parts[3]) / Number(parts[4]) : 0);
  return (parts[1] ? -1 : 1) * size * (parts[5] === "mm" ? 0.001 : INCH);
}

// Never throws: where no answer comes, `ok` is false, `status` 0 and `error` says so.
export async function getJson(url, options = {}) {
  try {
    const answer = await fetch(url, { ...options, headers: { Accept: "application/json", ...options.headers } });
    const json = (answer.headers.get("content-type") ?? "").includes("json");
    return { ok: answer.ok, status: answer.status, body: json ? await answer.json() : { error: (await answer.text()).trim() } };
  } catch {
    return { ok: false, status: 0, body: { error: "No answer from the server." } };
  }
}

// Private browsing may refuse to keep anything; then nothing is kept.
export const kept = {
  get(name) { try { return localStorage.getItem(`drainward ${name}`) ?? ""; } catch { return ""; } },
  set(name, value) { try { localStorage.setItem(`drainward ${name}`, value); } catch { /* not kept */ } },
};

export function toast(text) {
  const box = find("#toast");
  clearTimeout(toast.timer);
  box.textContent = text;
  box.hidden = !text;
  if (text) toast.timer = setTimeout(() => { box.hidden = true; }, 5000);
}

// New words in a box; what was unfolded there stays so, and what was typed stays typed.
export function renew(box, html) {
  const named = (details) => `${find("summary", details).textContent}\n${find(":scope > form > [type=hidden]", details)?.value ?? ""}`;
  const kept = new Map(all("details[open]", box).map((details) => [named(details), find(":scope > form > label > input", details)?.value ?? ""]));
  const typing = box.contains(document.activeElement) && document.activeElement.matches("input") && named(document.activeElement.closest("details"));
  box.innerHTML = html;
  for (const details of all("details", box)) {
    details.open = kept.has(named(details));
    const field = find(":scope > form > label > input", details);
    if (field && details.open) field.value = kept.get(named(details));
    if (field && named(details) === typing) field.focus({ preventScroll: true });
  }
}

// A form that takes a reading or a test back: `onDone` when the record has it.
export async function withdraw(event, onDone) {
  const form = event.target.closest("[data-withdraw]");
  if (!form) return;
  event.preventDefault();
  const sent = new URLSearchParams(new FormData(form));
  sent.set("who", kept.get("who"));
  const { ok, body } = await getJson(form.action, { method: "POST", body: sent });
  if (!ok) { find(".fault", form).textContent = body.error ?? body.problems.map((problem) => problem.says).join(" "); return; }
  toast("Taken back. The record keeps it as withdrawn.");
  onDone();
}

// Seconds as a watch is called out: 45 s, 1 min 50 s.
export function clock(seconds) {
  const whole = Math.round(seconds);
  if (whole < 60) return `${whole} s`;
  return `${Math.floor(whole / 60)} min${whole % 60 ? ` ${whole % 60} s` : ""}`;
}

const GALLON = 3.785411784e-3, OUNCE = GALLON / 128;

// Two digits, no power of ten.
const two = (number) => (number >= 9.95 ? number.toFixed(0) : number >= 0.995 ? number.toFixed(1) : number.toFixed(2));

export function volumeWords(cubicMetres) {
  if (cubicMetres < 1e-6) return "none";
  const trade = cubicMetres < GALLON / 4 ? `${two(cubicMetres / OUNCE)} fl oz` : `${two(cubicMetres / GALLON)} gal`;
  return `${trade} · ${cubicMetres < 1e-3 ? `${Math.round(cubicMetres * 1e6)} mL` : `${two(cubicMetres * 1e3)} L`}`;
}

export function flowWords(cubicMetresASecond) {
  const gallons = cubicMetresASecond * 60 / GALLON;
  return gallons < 0.005 ? "none" : `${two(gallons)} gpm · ${two(cubicMetresASecond * 6e4)} L/min`;
}

const LARGEST = 1600; // px: what is to be seen can be told, and it is sent in seconds from a phone

// A photograph of a phone is several megabytes: it is made smaller, and shown, before it is sent. Null where it cannot be read.
export async function smaller(file, preview) {
  try {
    const picture = await createImageBitmap(file), share = Math.min(1, LARGEST / Math.max(picture.width, picture.height));
    preview.width = Math.round(picture.width * share);
    preview.height = Math.round(picture.height * share);
    preview.getContext("2d").drawImage(picture, 0, 0, preview.width, preview.height);
    picture.close();
    return await new Promise((done) => preview.toBlob(done, "image/jpeg", 0.85));
  } catch { return null; /* sent as it is; the server says what it takes */ }
}
