// The page's script: fills the job's board; waits for what to buy; on a room's page joins plan, entry sheet and answers, plays its water, surveys its pocket, or follows its bed's clock.
import { Entry } from "./entry.js";
import { hold } from "./hold.js";
import { legend } from "./legend.js";
import { outbox } from "./outbox.js";
import { Plan } from "./plan.js";
import { Storey } from "./storey.js";
import { survey } from "./survey.js";
import { all, find, getJson, make, pause, renew, withdraw } from "./tools.js";
import { water } from "./water.js";

// Where each room stands, asked again until all are computed.
async function board() {
  const rooms = new Map(all("[data-room]").map((node) => [node.dataset.room, node])), count = find("#count");
  for (let wait = 300; ; wait = Math.min(wait * 1.5, 2000)) {
    const { ok, body } = await getJson("/board.json");
    if (ok) {
      for (const row of body.rooms) showRow(rooms.get(row.room), row);
      for (const node of all("[data-tally]")) node.textContent = body.rooms.filter((row) => !row.open && row.verdict === node.dataset.tally).length;
      count.textContent = body.done < body.of ? `Computing: ${body.done} of ${body.of} rooms done` : "";
      if (body.done >= body.of) return;
    } else {
      count.textContent = "No answer from the server; trying again…";
    }
    await pause(wait);
  }
}

function showRow(node, row) {
  if (!node) return;
  const blank = ["computing", "waiting", "unread"].includes(row.state), mark = find(".mark", node);
  const name = row.state === "failed" ? "failed" : blank ? "open" : row.verdict.replace(" ", "-");
  node.dataset.state = row.state;
  mark.setAttribute("class", `mark ${name} ${row.state}`);
  find("use", mark).setAttribute("href", `#mark-${name}`);
  const words = { unread: "not read yet", failed: "no answer", waiting: "computing", computing: "computing", estimate: `${row.verdict}?` };
  find(".verdict", node).textContent = words[row.state] ?? row.verdict;
  const first = row.state === "estimate" ? `First estimate: ${row.says}` : row.says;
  find(".says", node).textContent = first || (row.state === "failed" ? "This floor could not be computed." : "Reading the floor…");
}

function room(main, data) {
  const path = main.dataset.room, verdict = find("#verdict"), answers = find("#answer"), form = find("#entry");
  let asked = 0;
  const plan = new Plan(find("#map"), (x, y, scale) => entry?.tap(x, y, scale));
  const entry = form && new Entry(form, plan, () => {
    const state = find(".state", verdict);
    if (state) state.textContent = "Saved. First estimate, refining…";
    scrollTo(0, 0);
    ask();
  });

  function paint(picture) {
    const mortar = picture.mortar.length > 0;
    if (!mortar) show("floor");
    find("#layers").hidden = !mortar;
    find("#plan").hidden = false;
    plan.set(picture);
    legend(plan, find("#legend"));
  }

  function show(layer) {
    plan.show = layer;
    for (const button of all("[data-show]")) button.setAttribute("aria-pressed", String(button.dataset.show === layer));
    if (!plan.picture) return;
    plan.draw();
    legend(plan, find("#legend"));
  }

  function offer(offered, picture) { entry?.offered(offered, picture?.next ? { ...picture.next, ...picture.ask } : null); }

  function put(body) {
    verdict.innerHTML = body.verdict;
    verdict.className = ["meets", "fails", "not-proven"].find((name) => find(".mark", verdict).classList.contains(name)) ?? "open";
    renew(answers, body.answer);
    paint(body.picture);
    offer(body.form, body.picture);
    main.dataset.refined = body.refined ? "yes" : "first";
  }

  // First the estimate, then the refined answer; one that a newer question has overtaken is dropped.
  async function ask(queries = ["?first=1", ""]) {
    const mine = ++asked;
    if (queries.length > 1) main.dataset.refined = "no"; // what stands there is about other readings
    for (const query of queries) {
      const { ok, body } = await getJson(`${path}/answer.json${query}`);
      if (mine !== asked) return;
      if (!ok) {
        verdict.className = "open";
        verdict.replaceChildren(make("p", { class: "says" }, body.error ?? "This floor could not be computed."));
        main.dataset.refined = "failed";
        return;
      }
      put(body);
      if (body.refined) return;
    }
  }

  if (data.picture) paint(data.picture);
  offer(data.form, data.picture);
  if (main.dataset.refined !== "yes") ask(main.dataset.refined === "first" ? [""] : undefined);
  for (const button of all("[data-show]")) button.addEventListener("click", () => show(button.dataset.show));
  for (const button of all("[data-zoom]")) button.addEventListener("click", () => {
    if (button.dataset.zoom === "fit") plan.whole();
    else plan.zoomAbout(...plan.middle, button.dataset.zoom === "in" ? 1.6 : 1 / 1.6);
  });
  answers.addEventListener("submit", (event) => withdraw(event, () => { scrollTo(0, 0); ask(); }));
  addEventListener("sent", () => ask());
  // Somebody else may have read on meanwhile.
  document.addEventListener("visibilitychange", () => { if (!document.hidden && !entry?.open) ask([""]); });
}

// What to buy and cut: how far it is, until it is added up.
async function takeoff() {
  for (let wait = 300; ; wait = Math.min(wait * 1.5, 2000)) {
    const { ok, status, body } = await getJson("/takeoff.json");
    if (ok && status !== 202) return location.reload();
    find("#count").textContent = ok ? `${Math.round(body.share * 100)} % done${body.says ? `: ${body.says}` : ""}` : `${body.error} Trying again…`;
    await pause(wait);
  }
}

const main = find("main.room"), sheet = find("main.storey"), data = find("#data");
outbox();
if (find("#tally")) board();
if (find("main.takeoff")?.dataset.found === "no") takeoff();
if (main?.dataset.hold) hold(main);
if (main && data) (main.dataset.water ? water : main.dataset.survey ? survey : room)(main, JSON.parse(data.textContent));
if (sheet && data) new Storey(sheet, JSON.parse(data.textContent));
