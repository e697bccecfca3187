// The page: two phones, the switch between them, the clock, and what is new.

import { prepare } from "./entries.js";
import { Phone } from "./phone.js";
import { listen, loadState, moveClock, newId } from "./server.js";
import { element, say, shortDayOf, timeOf } from "./words.js";

const SEEN = "dayrung-seen";
const CHOSEN = "dayrung-chosen";
const NEW_PHONE = "dayrung-new-phone";
const NARROW = window.matchMedia("(max-width: 899px)");
const TICK = 5000;

const kept = (name, otherwise) => JSON.parse(localStorage.getItem(name) ?? "null") ?? otherwise;
const keep = (name, value) => localStorage.setItem(name, JSON.stringify(value));

const chosen = kept(CHOSEN, {});
let seen = kept(SEEN, null);
let shift = 0; // the server's clock ahead of ours, milliseconds
let state = null;
let loading = null;
let again = false;
let moving = false;

const phones = Object.fromEntries(["left", "right"].map((side) => [
  side, new Phone(side, (address) => choose(side, address), refresh),
]));
document.querySelector(".desk").append(phones.left.root, phones.right.root);

function now() {
  return new Date(Date.now() + shift);
}

function choose(side, address) {
  chosen[side] = address;
  keep(CHOSEN, chosen);
  refresh();
}

// A phone that is nobody's yet: for joining by an invitation.
function newPhone(known) {
  let address = kept(NEW_PHONE, null);
  if (!address || known.some((one) => one.address === address)) {
    address = `phone-${newId().slice(0, 12)}`;
    keep(NEW_PHONE, address);
  }
  const zone = Intl.DateTimeFormat().resolvedOptions().timeZone;
  return { address, name: say("newPhone"), role: "new", zone, state: "", lastTold: 0 };
}

function people() {
  const known = state?.phones ?? [];
  return [...known, newPhone(known)];
}

function ownerOf(side, all) {
  const found = all.find((one) => one.address === chosen[side]);
  if (found) return found;
  const wanted = side === "left" ? "client" : "coach";
  return all.find((one) => one.role === wanted) ?? all.at(-1);
}

async function refresh() {
  again = true;
  if (loading) return loading;
  loading = (async () => {
    while (again) {
      again = false;
      await load();
    }
  })();
  try {
    await loading;
  } finally {
    loading = null;
  }
  return undefined;
}

async function load() {
  const all = people();
  const addresses = [...new Set(["left", "right"].map((side) => ownerOf(side, all).address))];
  const most = Math.max(phones.left.most, phones.right.most);
  try {
    state = await loadState(addresses, most);
  } catch {
    return lost(true);
  }
  lost(false);
  shift = Date.parse(state.now) - Date.now();
  await prepare(state.chats);
  const current = people();
  const wanted = ["left", "right"].map((side) => ownerOf(side, current).address);
  if (wanted.some((address) => !(address in state.chats))) {
    again = true; // the people only became known with this answer
    return undefined;
  }
  return paint(current);
}

function paint(all) {
  if (seen === null) seen = Object.fromEntries(state.phones.map((one) => [one.address, one.lastTold]));
  for (const side of Object.keys(phones)) {
    const owner = ownerOf(side, all);
    if (isShown(side)) seen[owner.address] = owner.lastTold;
  }
  for (const [side, phone] of Object.entries(phones)) {
    const owner = ownerOf(side, all);
    const added = phone.update(owner, all, chatOf(owner), unread, now());
    if (added.some((item) => item.matches(".alert, .safety"))) {
      announce(say("aloud", { name: owner.name }));
    }
  }
  keep(SEEN, seen);
  paintSwitch(all);
  paintClock(all);
}

// A phone that was just chosen may be painted before its chat has come.
function chatOf(owner) {
  return state.chats[owner.address] ?? { entries: [], more: false };
}

// Said anew even when the words are the same as last time.
function announce(words) {
  document.querySelector(".aloud").replaceChildren(element("p", "", words));
}

function unread(one) {
  return one.lastTold > (seen?.[one.address] ?? 0);
}

function isShown(side) {
  return !document.hidden && (!NARROW.matches || document.body.dataset.shown === side);
}

function paintSwitch(all) {
  let news = false;
  for (const button of document.querySelectorAll(".switch [data-show]")) {
    const side = button.dataset.show;
    const owner = ownerOf(side, all);
    const waits = unread(owner);
    const loud = waits && phones[side].loudUnread(chatOf(owner).entries, seen[owner.address] ?? 0);
    news ||= waits;
    const marker = element("span", "marker", waits ? `● ${say(loud ? "unreadAlert" : "unread")}` : "");
    const who = owner.role === "new" ? owner.name : `${owner.name.split(" ")[0]}, ${say(owner.role)}`;
    button.replaceChildren(element("span", "", who), ...(waits ? [marker] : []));
    button.classList.toggle("loud", loud);
    button.setAttribute("aria-pressed", String(document.body.dataset.shown === side));
  }
  document.title = news ? `● ${document.title.replace("● ", "")}` : document.title.replace("● ", "");
}

// The clock buttons mean the client on the shown phone, else the client on the other one.
function clockClient(all) {
  const sides = document.body.dataset.shown === "right" && NARROW.matches ? ["right", "left"] : ["left", "right"];
  return sides.map((side) => ownerOf(side, all)).find((one) => one.nextMorning) ?? null;
}

function paintClock(all) {
  const client = clockClient(all);
  for (const button of document.querySelectorAll(".clock button")) {
    const moments = { morning: client?.nextMorning, session: client?.nextSession };
    const possible = button.dataset.to === "ten-minutes" || moments[button.dataset.to];
    button.toggleAttribute("data-off", !possible);
    if (!moving) button.setAttribute("aria-disabled", String(!possible));
  }
}

async function move(to) {
  const button = document.querySelector(`.clock [data-to="${to}"]`);
  if (moving || !state || button.hasAttribute("data-off")) return;
  const note = document.querySelector(".clock-note");
  const person = clockClient(people()) ?? ownerOf(document.body.dataset.shown, people());
  moving = true;
  for (const one of document.querySelectorAll(".clock button")) one.setAttribute("aria-disabled", "true");
  note.textContent = say("moving");
  try {
    const answer = await moveClock(to, person.address);
    const moment = new Date(answer.now);
    const values = { time: timeOf(moment, person.zone), day: shortDayOf(moment, person.zone) };
    note.textContent = say("moved", values);
  } catch {
    note.textContent = say("notMoved");
  }
  moving = false;
  await refresh();
}

function lost(yes) {
  document.querySelector(".lost").hidden = !yes;
}

function showPhone(side) {
  document.body.dataset.shown = side;
  for (const phone of Object.values(phones)) phone.fit();
  phones[side].toEnd();
  if (state) paint(people());
}

for (const button of document.querySelectorAll(".switch [data-show]")) {
  button.addEventListener("click", () => showPhone(button.dataset.show));
}
for (const button of document.querySelectorAll(".clock button")) {
  button.addEventListener("click", () => move(button.dataset.to));
}
// On a narrow screen the clock is folded away, so that a card has the room.
document.querySelector(".unfold").addEventListener("click", ({ currentTarget }) => {
  const open = document.body.classList.toggle("clock-open");
  currentTarget.setAttribute("aria-expanded", String(open));
  for (const phone of Object.values(phones)) phone.fit();
});
document.addEventListener("visibilitychange", refresh);
NARROW.addEventListener("change", refresh);
setInterval(() => {
  for (const phone of Object.values(phones)) if (phone.owner) phone.tick(now());
}, TICK);

listen(refresh, (ok) => (ok ? refresh() : lost(true)));
