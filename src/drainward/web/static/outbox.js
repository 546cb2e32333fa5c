// What could not be sent is kept on this phone, each entry under its own key, and sent again in the order it was taken:
// when the network is back, every so often, or by a tap. Each carries the id it was made with, so that the server takes
// it once, though an answer was lost; and its age, so that it is written down when it was taken, whatever the phone's clock.
import { all, find, getJson, make } from "./tools.js";

const PREFIX = "drainward unsent ", EVERY = 15000, PATIENCE = 12000, PHOTO_PATIENCE = 60000, SOON = 20000;
const GONE = new Set([0, 502, 503, 504]); // no answer, or none from Drainward itself

let failed = 0, sending = null;

// Entries in the order they were taken: [key, entry].
function entries() {
  try {
    return Object.keys(localStorage).filter((key) => key.startsWith(PREFIX)).sort().map((key) => [key, JSON.parse(localStorage.getItem(key))]);
  } catch { return []; }
}

const waiting = () => entries().filter(([, entry]) => !entry.says);

// The server's answer; one that says `kept` where it waits here.
export async function post(action, body, label) {
  if (waiting().length && (Date.now() - failed < SOON || !await flush())) return stored(action, body, label);
  const answer = await send(action, body);
  if (answer.ok || !GONE.has(answer.status)) return answer;
  failed = Date.now();
  return stored(action, body, label, answer);
}

const send = (action, body) => getJson(action, { method: "POST", body, signal: AbortSignal.timeout(body.get("photo") ? PHOTO_PATIENCE : PATIENCE) });

async function stored(action, body, label, answer = { ok: false, status: 0, body: { error: "No answer from the server." } }) {
  const fields = [], at = Date.now();
  const number = String(entries().length).padStart(4, "0"), key = `${PREFIX}${String(at).padStart(15, "0")} ${number} ${body.get("id")}`;
  try {
    for (const [name, value] of body.entries()) fields.push([name, value instanceof Blob ? { photo: await text(value) } : value]);
    localStorage.setItem(key, JSON.stringify({ action: new URL(action, location.href).pathname, label, at, fields }));
  } catch { return answer; } // nothing is kept here, or it is full: the form keeps what was typed
  show();
  return { ok: true, status: 0, body: { kept: true } };
}

// Everything that waits, in order, until one finds no answer; true when none is left to wait.
export function flush() {
  sending ??= run().finally(() => { sending = null; show(); });
  return sending;
}

async function run() {
  let sent = 0;
  for (const [key, entry] of waiting()) {
    show("Sending…");
    const body = new FormData();
    for (const [name, value] of entry.fields) if (typeof value === "string") body.set(name, value); else body.set(name, blob(value.photo), "photo.jpg");
    body.set("age", String(Math.max(0, Math.round((Date.now() - entry.at) / 1000))));
    const { ok, status, body: answer } = await send(entry.action, body);
    if (!ok && GONE.has(status)) { failed = Date.now(); break; }
    if (ok) { localStorage.removeItem(key); sent += 1; } else {
      entry.says = answer.problems?.map(({ got, expected }) => `${got ? `“${got}” ` : ""}${expected}`).join("; ") ?? answer.error ?? "It was refused.";
      localStorage.setItem(key, JSON.stringify(entry));
    }
  }
  if (sent) { failed = 0; dispatchEvent(new CustomEvent("sent", { detail: sent })); }
  return waiting().length === 0;
}

const text = (file) => new Promise((done, fail) => {
  const reader = new FileReader();
  reader.addEventListener("load", () => done(reader.result));
  reader.addEventListener("error", () => fail(reader.error));
  reader.readAsDataURL(file);
});

function blob(url) {
  const [head, data] = url.split(","), bytes = Uint8Array.from(atob(data), (letter) => letter.charCodeAt(0));
  return new Blob([bytes], { type: /data:([^;]*)/.exec(head)[1] });
}

// The bar on every page, and the count wherever a form has room for it.
function show(says = "") {
  const box = find("#outbox"), kept = entries(), refused = kept.filter(([, entry]) => entry.says), wait = kept.length - refused.length;
  const count = [wait && `Not yet sent: ${wait}`, refused.length && `not taken: ${refused.length}`].filter(Boolean).join(", ");
  for (const node of all("[data-unsent]")) { node.textContent = count; node.hidden = !count; }
  box.hidden = !kept.length;
  if (!kept.length) return;
  find("p", box).textContent = says || `${count}. Kept on this phone.`;
  find("[data-send]", box).hidden = !wait;
  const list = find("ul", box), key = kept.map(([name, entry]) => name + (entry.says ?? "")).join("|");
  if (list.dataset.of === key) return; // nobody's typing is disturbed
  list.dataset.of = key;
  list.replaceChildren(...kept.map(([name, entry]) => item(name, entry)));
  if (refused.length) find("details", box).open = true;
}

function item(key, entry) {
  const node = make("li", {}, entry.label);
  if (!entry.says) return node;
  const value = entry.fields.find(([name]) => name === "value"), field = value && make("input", { "aria-label": "Value" });
  const again = make("button", { type: "button" }, "Send again"), away = make("button", { type: "button" }, "Throw away");
  if (field) field.value = value[1];
  again.addEventListener("click", () => {
    if (field) value[1] = field.value;
    localStorage.setItem(key, JSON.stringify({ ...entry, says: undefined }));
    flush();
  });
  away.addEventListener("click", () => { if (confirm(`Throw away: ${entry.label}?`)) { localStorage.removeItem(key); show(); } });
  node.append(make("p", { class: "fault", role: "alert" }, entry.says), ...(field ? [field] : []), again, away);
  return node;
}

// Called once on each page.
export function outbox() {
  show();
  find("#outbox [data-send]").addEventListener("click", () => { failed = 0; flush(); });
  addEventListener("online", () => flush());
  addEventListener("storage", () => show());
  if (waiting().length) flush();
  setInterval(() => { if (waiting().length) flush(); }, EVERY);
}
