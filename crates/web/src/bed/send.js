/* Sends what waits, in order, and fetches the list. */

import * as keep from "./keep.js";

const AT_ONCE = 100;
const PATIENCE_MS = 30000;
/* What is settled and done is shown for two weeks, then forgotten. */
const SHOWN_MS = 14 * 24 * 3600 * 1000;

/* How the last attempt ended: "ok", "away" (nobody answers), "unknown" (this phone has to join), "broken". */
export let last = "ok";

async function ask(at, asked) {
  let answer;
  const stop = new AbortController();
  const patience = setTimeout(() => stop.abort(), PATIENCE_MS);
  try {
    answer = await fetch(at, { ...asked, signal: stop.signal });
  } catch {
    last = "away";
    return null;
  } finally {
    clearTimeout(patience);
  }
  const is_page = answer.redirected || (answer.status !== 304 && !(answer.headers.get("content-type") || "").includes("json"));
  if (answer.status === 401 || answer.status === 403) {
    last = "unknown";
  } else if (answer.status !== 304 && (!answer.ok || is_page)) {
    last = "broken";
  } else {
    last = "ok";
    return answer;
  }
  return null;
}

/* One page of the phone sends at a time; sending twice would harm nothing, but waste signal. */
function alone(work) {
  return navigator.locks ? navigator.locks.request("bed-send", work) : work();
}

/* Sends all that waits, then fetches the list. `last` tells of what kept entries from being sent, where something did. */
export async function exchange(told) {
  const is_sent = await send(told);
  const of_sending = last;
  const fetched = await list();
  if (!is_sent) { last = of_sending; }
  return { is_sent, list: fetched };
}

/* Sends all that waits; gives whether it went. `told` is called after each part. */
function send(told) {
  return alone(async () => {
    for (;;) {
      const waiting = await keep.to_send(AT_ONCE);
      if (waiting.length === 0) {
        await forget_old(await keep.entries());
        return true;
      }
      if (!await send_part(waiting)) { return false; }
      await told();
    }
  });
}

async function send_part(waiting) {
  const answer = await ask("/acts", {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify(waiting.map((it) => it.act)),
  });
  const answers = answer && await answer.json().catch(() => null);
  if (!Array.isArray(answers) || answers.length !== waiting.length) {
    if (answer) { last = "broken"; }
    return false;
  }
  const all = await keep.entries();
  const changed = [];
  waiting.forEach((sent, at) => {
    const now = all.find((it) => it.n === sent.n);
    /* What was changed on the phone while it was on its way is sent once more. */
    if (now && JSON.stringify(now.act) === JSON.stringify(sent.act)) { changed.push(...answered(now, answers[at], all)); }
  });
  await keep.change(changed);
  return true;
}

/* An entry with its answer, and what else changes by it. */
function answered(entry, answer, all) {
  const is_done = answer.outcome === "done" || answer.outcome === "same";
  const now = { ...entry, answer, sent: Date.now(), state: is_done ? "done" : "refused" };
  /* Settled on this phone, or by somebody else before it was sent again. */
  const settled = answer.settled || (is_done && entry.how);
  if (settled) { Object.assign(now, { state: "settled", answer: { ...answer, settled } }); }
  if (entry.act.act !== "leave_out") { return [now]; }
  const left = all.find((it) => it.act.id === entry.act.entry);
  now.state = "done";
  if (!left) { return [now]; }
  /* Where somebody else was first, the entry is sent again to learn how it was settled. */
  return [now, is_done ? { ...left, state: "settled", answer: { ...left.answer, settled: "left_out" } } : { ...left, state: "waiting" }];
}

async function forget_old(all) {
  const before = Date.now() - SHOWN_MS;
  const old = all.filter((it) => (it.state === "done" || it.state === "settled" || it.state === "undone") && it.made < before);
  if (old.length > 0) { await keep.forget(old.map((it) => it.n)); }
}

/* The list as it is now, or as it was kept; `asked` is when it was asked for. */
async function list() {
  const kept = await keep.kept("list");
  const asked = Date.now();
  const answer = await ask("/bed.json", { headers: kept ? { "if-none-match": kept.tag } : {} });
  if (!answer) { return kept; }
  if (answer.status === 304) {
    const same = { ...kept, asked };
    await keep.keep("list", same);
    return same;
  }
  const told = await answer.json().catch(() => null);
  if (!told) { return kept; }
  const fresh = { ...told, tag: answer.headers.get("etag"), asked };
  await keep.keep("list", fresh);
  await settled_elsewhere(fresh);
  return fresh;
}

/* Entries that waited to be settled and do so no more are sent again: the answer says how they were settled. */
async function settled_elsewhere(fresh) {
  const open = new Set(fresh.to_settle.map((it) => it.id));
  const all = await keep.entries();
  const gone = all.filter((it) => it.state === "refused" && !it.again && !open.has(it.act.id) && it.sent < fresh.asked);
  if (gone.length > 0) { await keep.change(gone.map((it) => ({ ...it, state: "waiting", again: true }))); }
}
