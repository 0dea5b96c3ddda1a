/* What stands and what is left to do, as the list has it and as the entries on this phone have changed it since. */

import { figure, many, words as w } from "./page.js";

/* Entries that the list does not know of yet. */
function pending(list, entries) {
  const taken_back = new Set(entries.filter((it) => it.act.act === "correct").map((it) => it.act.corrects));
  return entries.filter((it) => (it.state === "waiting" || (it.state === "done" && it.sent > list.asked))
    && !taken_back.has(it.act.id));
}

/* Takes plants of a lot, of one kind first. */
function take(lot, plants, first, then) {
  const of_first = Math.min(plants, lot[first]);
  lot[first] -= of_first;
  lot[then] = Math.max(0, lot[then] - (plants - of_first));
}

/* What an act leaves of a lot. What the books would refuse leaves what it can. */
function apply(lot, act) {
  const all = lot.growing + lot.ready;
  switch (act.act) {
    case "count":
      lot.ready = Math.min(act.ready ?? lot.ready, act.plants);
      lot.growing = act.plants - lot.ready;
      break;
    case "lose":
      take(lot, act.plants, "growing", "ready");
      break;
    case "unwrap":
      lot.ready = act.taken;
      lot.growing = 0;
      lot.wrapped = false;
      break;
    case "bud":
      take(lot, act.plants, "ready", "growing");
      break;
    default:
      /* All of a lot stays the lot, only elsewhere or further; a part becomes another one. */
      if ((act.plants ?? all) < all) { take(lot, act.plants, "ready", "growing"); }
  }
}

/* The lots by name. */
export function lots(list, entries) {
  const found = new Map(list.lots.map((it) => [it.lot, { ...it }]));
  pending(list, entries).forEach(({ act }) => {
    const lot = found.get(act.lot);
    if (lot) { apply(lot, act); }
  });
  return found;
}

export const plants = (lot) => lot.growing + lot.ready;

/* Plants, or seeds, of an act. */
export const amount = (act) => act.plants ?? act.seeds;

/* What is left of each job, by its name. */
export function left(list, entries) {
  const found = new Map(list.jobs.map((it) => [it.job, it.left]));
  pending(list, entries).forEach(({ job, does }) => {
    if (does && found.has(job)) { found.set(job, Math.max(0, found.get(job) - does)); }
  });
  return found;
}

/* How many plants stand, and how many of them are ready, in words. */
export const stand_of = (lot) => (lot.ready > 0
  ? many(w.stand_ready, plants(lot), { ready: figure(lot.ready) })
  : many(w.stand, plants(lot)));
