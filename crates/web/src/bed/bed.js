/* At the bed: the week's work and the lots, also without signal. What is entered waits on the phone until the office
   has answered for it. */

import { as_planned, enter } from "./enter.js";
import * as keep from "./keep.js";
import { clock, day, el, here, many, button, say, time, to, words as w } from "./page.js";
import * as sending from "./send.js";
import * as stock from "./stock.js";
import * as views from "./views.js";

const AGAIN_MS = 5000;
const MOST_AGAIN_MS = 60000;
const UNDO_SHOWN_MS = 12000;

const main = document.querySelector("main");
const line = document.getElementById("state");
const said = document.getElementById("said");

const it = { list: undefined, entries: [], lots: new Map(), left: new Map(), crew: "", find: "" };
let is_busy = false;
let is_asked_again = false;
let is_recording = false;
let pause = AGAIN_MS;
let timer;
let steps = 0;
let is_old = false;
let is_touched = false;
let is_late = false;

/* A new name for an act: its moment and chance, in the letters of ULIDs. */
function ulid() {
  const letters = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
  let moment = "";
  for (let rest = Date.now(), at = 0; at < 10; at += 1, rest = Math.floor(rest / 32)) { moment = letters[rest % 32] + moment; }
  const chance = crypto.getRandomValues(new Uint8Array(16));
  return moment + Array.from(chance, (byte) => letters[byte % 32]).join("");
}

const in_state = (state) => it.entries.filter((one) => one.state === state).length;

/* The state of what was entered, in words. */
it.line = () => {
  const waiting = in_state("waiting");
  const parts = [];
  if (waiting > 0) {
    const away = !navigator.onLine || sending.last === "away";
    const pair = is_busy && !away ? w.being_sent : { unknown: w.wait_join, broken: w.wait_office }[sending.last] || w.wait_signal;
    parts.push(many(away ? w.wait_signal : pair, waiting));
  }
  const open = it.entries.filter((one) => one.state === "refused").length;
  if (open > 0) { parts.push(many(w.to_settle, open)); }
  if (parts.length === 0) {
    const last = Math.max(0, ...it.entries.map((one) => one.sent || 0));
    parts.push(last > 0 ? say(w.all_sent, { time: clock(last) }) : w.nothing_to_send);
  }
  return parts.join(". ");
};

function draw_line() {
  const refused = in_state("refused") > 0;
  const waiting = in_state("waiting") > 0;
  line.className = refused ? "open" : waiting ? "waits" : "sent";
  const sign = refused ? "\u25b2" : waiting ? "\u25f7" : "\u2713";
  const text = `${sign} ${it.line()}`;
  if (line.textContent !== text) { line.replaceChildren(el("span", { "aria-hidden": "true" }, sign), ` ${it.line()}`); }
}

function view() {
  const [name, ...parts] = here();
  if (name === "entries" || !it.list) { return name === "entries" ? views.entries(it) : views.nothing(); }
  if (name === "settle") { return views.settle(it, parts[0]); }
  if (name === "enter") { return enter(it, ...parts) || views.job(it, ""); }
  const known = { lots: views.lots, job: views.job, lot: views.lot };
  return (known[name] || views.week)(it, ...parts);
}

/* Draws the place that is shown; while somebody enters something, only the line above it. */
function draw(is_new) {
  draw_line();
  if (!is_new && here()[0] === "enter") { return; }
  /* Nothing moves under a finger. */
  if (!is_new && is_touched) { is_late = true; return; }
  const typing = document.activeElement?.matches("input[type=search]");
  if (!is_new && typing) { return; }
  if (it.list) {
    it.lots = stock.lots(it.list, it.entries);
    it.left = stock.left(it.list, it.entries);
  }
  const at = scrollY;
  const drawn = el("main", {}, ...warnings(), ...view().flat(2));
  /* What did not change stays, with the focus that is on it. */
  if (!is_new && drawn.innerHTML === main.innerHTML) { return; }
  main.replaceChildren(...drawn.childNodes);
  document.querySelectorAll("nav a").forEach((link) => {
    link.toggleAttribute("aria-current", link.hash === `#${here()[0] || "week"}`);
  });
  scrollTo(0, is_new ? 0 : at);
  if (is_new) { main.querySelector(".turn, h1")?.focus({ preventScroll: true }); }
}

function warnings() {
  if (!it.list) { return []; }
  const away = it.list.fixed ? 0 : Math.abs(Date.parse(day(new Date())) - Date.parse(it.list.day_known));
  const found = [];
  if (!it.list.who) { found.push(el("p", { class: "mind" }, `${w.no_person} `, el("a", { href: "/who?back=/bed" }, w.say_who))); }
  if (away > 24 * 3600000 && it.list.asked > Date.now() - 3600000) { found.push(el("p", { class: "mind" }, w.clock_wrong)); }
  if (it.list.asked < Date.now() - 24 * 3600000) { found.push(el("p", { class: "mind" }, w.old_list)); }
  return found;
}

async function look() {
  it.entries = await keep.entries();
  draw(false);
}

/* Sends what waits and fetches the list; while it does, one more turn may be asked for. */
async function sync() {
  clearTimeout(timer);
  if (is_busy) { is_asked_again = true; return; }
  is_busy = true;
  let is_sent = false;
  try {
    do {
      is_asked_again = false;
      ({ is_sent, list: it.list } = await sending.exchange(look));
      it.entries = await keep.entries();
    } while (is_asked_again || (is_sent && in_state("waiting") > 0));
  } finally {
    is_busy = false;
    await look();
    pause = in_state("waiting") > 0 && !is_sent ? Math.min(pause * 2, MOST_AGAIN_MS) : MOST_AGAIN_MS;
    timer = setTimeout(sync, pause);
  }
}

it.sync = () => {
  pause = AGAIN_MS;
  return sync();
};

it.choose_crew = async (crew) => {
  it.crew = crew;
  await keep.keep("crew", crew);
  draw(true);
};

/* An entry of now, or of one that is changed and was made before. */
function made({ deed, said: words, lot, job, was, does }) {
  const now = new Date();
  const header = was
    ? { id: was.id, on: was.on, by: was.by, at: was.at, settled_by: it.list.who }
    : { id: ulid(), on: it.list.fixed ? it.list.day : day(now), by: it.list.who, at: time(now) };
  return {
    act: { ...header, ...deed }, lot: lot ? lot.lot : "", job: job ? job.job : "", said: words,
    does: does || 0, how: was ? "changed" : "", made: now.getTime(), state: "waiting",
  };
}

/* Keeps entries; gives why not, where they cannot be kept. */
async function kept(entries, changed = []) {
  if (!it.list.who) { return w.no_person; }
  try {
    await keep.add(entries);
    if (changed.length > 0) { await keep.change(changed); }
  } catch {
    return w.not_kept;
  }
  it.entries = await keep.entries();
  pause = AGAIN_MS;
  sync();
  return "";
}

/* Puts a settled entry in the place of the one that was refused. */
async function settled(act, entry) {
  const own = it.entries.find((one) => one.act.id === act.id);
  const next = { ...entry, made: own ? own.made : entry.made, ...(own ? { n: own.n } : {}) };
  return own ? kept([], [next]) : kept([next]);
}

/* Records what was entered, once however often it is tapped; gives why not, where it cannot. */
it.record = async (entries) => {
  if (is_recording) { return ""; }
  is_recording = true;
  try {
    return await record(entries);
  } finally {
    is_recording = false;
  }
};

/* Records, and goes back to where it was entered from. */
async function record(entries) {
  const [first] = entries;
  const wrong = first.was ? await settled(first.was, made(first)) : await kept(entries.map(made));
  if (wrong) { return wrong; }
  const own = it.entries.slice(-entries.length);
  tell(`${first.lot ? `${first.lot.lot}: ` : ""}${first.said}`, first.was ? null : () => Promise.all(own.map(it.undo)));
  if (here()[0] !== "enter") {
    draw(false);
  } else if (first.was) {
    leave_to("#entries");
  } else {
    leave_to(first.job ? to("job", first.job.job) : to("lot", first.lot.lot));
  }
  return "";
}

/* Leaves an entry for a place that was most often looked at just before. */
function leave_to(place) {
  if (steps > 1 && place !== "#entries") {
    steps -= 2;
    history.back();
  } else {
    location.replace(place);
  }
}

it.as_planned = (job, lot, act) => {
  const left = it.left.get(job.job);
  const key = act.seeds === undefined ? "plants" : "seeds";
  const fits = act[key] === undefined ? act : { ...act, [key]: Math.min(left, act[key]) };
  return it.record([as_planned(fits, lot, job)]);
};

/* What was settled stands in the place of the entry that the books refused; it is not taken back, or nobody would see
   that one again. */
it.can_undo = (entry) => !entry.how && (entry.state === "waiting" || entry.state === "done") && entry.act.act !== "correct"
  && !it.entries.some((one) => one.act.corrects === entry.act.id && one.state !== "undone");

/* Takes an entry back: before it was sent it is just not sent, afterwards a further entry corrects it. */
it.undo = async ({ n }) => {
  const entry = it.entries.find((one) => one.n === n);
  if (entry.state === "refused") {
    location.hash = to("settle", entry.act.id);
    return;
  }
  if (!await keep.take_back(entry.n)) {
    const deed = { act: "correct", corrects: entry.act.id, reason: w.undone_at_bed };
    await kept([made({ deed, said: say(w.said_undone, { said: entry.said }), lot: { lot: entry.lot } })]);
  }
  it.entries = await keep.entries();
  tell(say(w.said_undone, { said: entry.said }));
  draw(false);
};

it.waiting_act = (id) => {
  const own = it.entries.find((one) => one.act.id === id && one.state === "refused");
  return own ? own.act : it.list.to_settle.find((one) => one.id === id)?.entry;
};

/* Takes an entry as it is, whatever the books say by now. */
it.take = async (own, act) => {
  const { knew, ...rest } = act;
  const entry = {
    act: { ...rest, settled_by: it.list.who }, lot: act.lot || "", job: own ? own.job : "", does: own ? own.does : 0, how: "taken",
    said: own ? own.said : it.list.to_settle.find((one) => one.id === act.id).words, made: Date.now(), state: "waiting",
  };
  if (!await settled(act, entry)) { leave_to("#entries"); }
};

it.leave_out = async (id, reason) => {
  const { at, ...act } = made({ deed: { act: "leave_out", entry: id, reason }, said: reason }).act;
  const wrong = await kept([{ act, lot: "", job: "", said: reason, does: 0, made: Date.now(), state: "waiting" }]);
  if (!wrong) { leave_to("#entries"); }
  return wrong;
};

let said_timer;

/* Says what was just recorded, with a way back. */
function tell(text, undo) {
  clearTimeout(said_timer);
  const back = undo && button(w.undo, () => { said.replaceChildren(); undo(); }, "plain");
  said.replaceChildren(el("p", {}, text), ...(back ? [back] : []));
  said_timer = setTimeout(() => said.replaceChildren(), UNDO_SHOWN_MS);
}

/* Keeps the page on the phone; a newer one takes its place as soon as nobody is entering anything. */
async function stay() {
  if (!navigator.serviceWorker) { return; }
  const had = navigator.serviceWorker.controller !== null;
  navigator.serviceWorker.addEventListener("controllerchange", () => {
    if (!had) { return; }
    is_old = true;
    renew();
  });
  const its = await navigator.serviceWorker.register("/bed-worker.js", { scope: "/bed" });
  document.addEventListener("visibilitychange", () => { if (!document.hidden) { its.update().catch(() => {}); } });
  navigator.storage?.persist?.();
}

function renew() {
  if (is_old && here()[0] !== "enter") { location.reload(); }
}

function let_go() {
  is_touched = false;
  if (is_late) { is_late = false; draw(false); }
}

async function begin() {
  [it.list, it.entries, it.crew] = [await keep.kept("list"), await keep.entries(), (await keep.kept("crew")) || ""];
  draw(true);
  addEventListener("hashchange", () => {
    steps += 1;
    renew();
    /* It would lie over the keys; the entries have their undo, too. */
    if (here()[0] === "enter") { said.replaceChildren(); }
    draw(true);
  });
  addEventListener("pointerdown", () => { is_touched = true; });
  for (const ended of ["pointerup", "pointercancel"]) { addEventListener(ended, () => setTimeout(let_go, 50)); }
  addEventListener("online", it.sync);
  addEventListener("offline", () => draw_line());
  document.addEventListener("visibilitychange", () => { if (!document.hidden) { it.sync(); } });
  document.getElementById("send").addEventListener("click", it.sync);
  stay().catch(() => {});
  await sync();
}

begin().catch(() => main.replaceChildren(el("h1", {}, w.not_kept)));
