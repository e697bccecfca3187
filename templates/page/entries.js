// The entries of a chat as list items, changed in place so that only what is new is read aloud.

import { dayOf, element, say, timeOf } from "./words.js";

const SIGN = '<svg viewBox="0 0 24 24" aria-hidden="true"><path d="M12 3 2 21h20z"/><path d="M12 10v5M12 18v.4"/></svg>';

const PREPARED = 3; // so many of the newest entries of a chat get their pictures before they are shown
const PATIENCE = 1000;

const sizes = new Map(); // address of a picture -> [width, height]

export const LOUD = new Set(["alert", "safety"]);

// Shows `entries` in `list`; gives the items that were not there before.
export function show(list, entries, zone, onTap) {
  const known = new Map(Array.from(list.children, (item) => [item.dataset.key, item]));
  const newest = entries.filter((entry) => entry.choices?.length).at(-1);
  const added = [];
  let place = list.firstElementChild;
  for (const [key, print, make] of planned(entries, zone, onTap)) {
    let item = known.get(key);
    known.delete(key);
    if (!item || item.dataset.print !== print) {
      const before = item;
      item = make();
      item.dataset.key = key;
      item.dataset.print = print;
      if (before) {
        takeOver(before, item);
        if (place === before) place = item;
      } else {
        added.push(item);
      }
    }
    if (item === place) place = place.nextElementSibling;
    else list.insertBefore(item, place);
    item.classList.toggle("current", newest !== undefined && key === newest.id);
  }
  for (const gone of known.values()) gone.remove();
  return added;
}

function* planned(entries, zone, onTap) {
  let day = "";
  for (const entry of entries) {
    const on = dayOf(new Date(entry.at), zone);
    if (on !== day) {
      day = on;
      yield [`day-${entry.at.slice(0, 10)}-${on}`, on, () => element("li", "day", on)];
    }
    const make = entry.from === "bot" ? told : said;
    yield [entry.id, JSON.stringify([entry, zone]), () => make(entry, zone, onTap)];
  }
}

// A message changed under the reader's finger: the focus stays where the reader is.
function takeOver(before, item) {
  const held = before.contains(document.activeElement);
  before.replaceWith(item);
  if (!held) return;
  const target = item.querySelector("button") ?? item;
  if (target === item) item.tabIndex = -1;
  target.focus({ preventScroll: true });
}

function said(entry, zone) {
  const item = element("li", entry.kind === "tap" ? "said tapped" : "said");
  item.append(element("p", "by", `${say("you")}, ${timeOf(new Date(entry.at), zone)}`));
  item.append(element("p", "words", ownWords(entry)));
  return item;
}

function ownWords(entry) {
  if (entry.kind === "unreadable") return entry.text || say("unreadable");
  if (entry.kind !== "tap") return entry.text;
  return entry.text ? say("tapped", { label: entry.text }) : say("tappedUnknown");
}

function told(entry, zone, onTap) {
  const item = element("li", `told ${entry.kind}`);
  const time = timeOf(new Date(entry.at), zone);
  if (LOUD.has(entry.kind)) {
    const loud = element("p", "loud-word");
    loud.innerHTML = SIGN;
    loud.append(say(entry.kind));
    item.append(loud);
  }
  item.append(element("p", "by", `${say("dayrung")}, ${time}`));
  if (entry.picture) item.append(picture(entry));
  item.append(element("p", "words", entry.text));
  if (entry.times > 1) {
    const first = timeOf(new Date(entry.firstAt), zone);
    item.append(element("p", "times", say("times", { times: entry.times, first })));
  }
  if (entry.document) item.append(file(entry));
  if (entry.choices.length) item.append(choices(entry, onTap));
  return item;
}

// Loads the pictures of new entries first, so that no button moves away under a finger later.
export async function prepare(chats) {
  const newest = Object.values(chats).flatMap((chat) => chat.entries.slice(-PREPARED));
  if (newest.some((entry) => LOUD.has(entry.kind))) return;
  const wanted = newest.map(addressOf).filter((address) => address && !sizes.has(address));
  const patience = new Promise((done) => { setTimeout(done, PATIENCE); });
  await Promise.race([Promise.all(wanted.map(load)), patience]);
}

async function load(address) {
  const image = new Image();
  image.src = address;
  try {
    await image.decode();
    sizes.set(address, [image.naturalWidth, image.naturalHeight]);
  } catch {
    // Shown without a reserved place; its words tell what it shows.
  }
}

function addressOf(entry) {
  return entry.picture ? `/content/${encodeURIComponent(entry.picture)}` : "";
}

function picture(entry) {
  const figure = element("figure", "picture");
  const image = element("img");
  image.src = addressOf(entry);
  image.alt = entry.pictureText;
  if (sizes.has(addressOf(entry))) [image.width, image.height] = sizes.get(addressOf(entry));
  figure.append(image);
  return figure;
}

function file(entry) {
  const link = element("a", "file", say("file"));
  link.href = `/content/${encodeURIComponent(entry.document)}`;
  link.download = "";
  return link;
}

function choices(entry, onTap) {
  const all = element("div", "choices");
  for (const row of entry.choices) {
    const line = element("div", "row");
    for (const [label, value, copies] of row) {
      const button = element("button", "", label);
      button.type = "button";
      const tapped = copies ? () => copy(button, copies) : () => onTap(button, entry.messageId, value);
      button.addEventListener("click", tapped);
      line.append(button);
    }
    all.append(line);
  }
  return all;
}

// The text goes into the clipboard; where the browser does not let it, it is shown selected.
async function copy(button, text) {
  try {
    await navigator.clipboard.writeText(text);
    button.classList.add("copied");
    button.setAttribute("aria-label", say("copied"));
    button.textContent = say("copied");
  } catch {
    const field = element("input", "to-copy");
    field.readOnly = true;
    field.value = text;
    button.replaceWith(field);
    field.select();
  }
}
