// One phone: whose it is, what stands on it, and what is written on it.

import { LOUD, show } from "./entries.js";
import { newId, send } from "./server.js";
import { dayOf, element, say, shortDayOf, timeOf } from "./words.js";

const NEAR = 60;
const GAP = 8;
const STEP = 60;
const AT_FIRST = 60;
const GROUPS = [["clients", ["client"]], ["coaches", ["coach", "backup"]], ["others", ["new"]]];
const ROLES = { client: "clientPhone", coach: "coachPhone", backup: "backupPhone", new: "newPhone" };
const STATES = { alert: "stateAlert", hold: "stateHold", joining: "stateJoining", uncleared: "stateUncleared" };

export class Phone {
  constructor(side, onChosen, onChanged) {
    this.side = side;
    this.owner = null;
    this.most = AT_FIRST;
    this.pending = null; // the typed message that is on its way or failed
    this.taps = new Map(); // button -> id of its failed or running tap
    this.onChanged = onChanged;
    this.root = document.getElementById("phone").content.firstElementChild.cloneNode(true);
    this.root.dataset.side = side;
    this.part = (name) => this.root.querySelector(name);
    this.log = this.part(".log");
    this.list = this.part(".entries");
    this.box = this.part("textarea");
    this.label();
    this.part("select").addEventListener("change", (event) => onChosen(event.target.value));
    this.part("form").addEventListener("submit", (event) => { event.preventDefault(); this.write(); });
    this.part(".earlier").addEventListener("click", () => { this.most += STEP; onChanged(); });
    this.part(".below").addEventListener("click", () => this.onward());
    this.box.addEventListener("input", () => {
      this.fit();
      if (this.box.value !== this.pending?.text) this.trouble("");
    });
    this.box.addEventListener("keydown", (event) => {
      if (event.key !== "Enter" || event.shiftKey || event.isComposing) return;
      event.preventDefault();
      this.write();
    });
    // "More" stands right on top of where one writes, however tall that is.
    const writer = this.part(".writer");
    const keep = () => this.root.style.setProperty("--writer-height", `${writer.offsetHeight}px`);
    new ResizeObserver(keep).observe(writer);
    this.log.addEventListener("scroll", () => this.scrolled());
    window.addEventListener("scroll", () => this.scrolled());
    // Pictures arrive after their message and push it down.
    this.list.addEventListener("load", () => { if (this.sticks) this.toEnd(); }, true);
  }

  label() {
    const id = `write-${this.side}`;
    this.box.id = id;
    this.part(".write").htmlFor = id;
    this.part(".role").id = `role-${this.side}`;
    this.root.setAttribute("aria-labelledby", `role-${this.side}`);
  }

  // Shows the phone of `owner`; `people` fill the list to choose from, `chat` is what stands on it.
  update(owner, people, chat, unreadOf, now) {
    const other = this.owner?.address !== owner.address;
    this.owner = owner;
    if (other) this.changeHands();
    this.root.dataset.role = owner.role;
    this.part(".role").textContent = say(ROLES[owner.role]);
    this.log.setAttribute("aria-label", say("messages", { name: owner.name }));
    this.choose(people, unreadOf);
    this.tick(now);
    this.part(".earlier").hidden = !chat.more;
    this.part(".empty").hidden = chat.entries.length > 0;
    this.part(".empty").textContent = say(owner.role === "new" ? "emptyNew" : "emptyKnown");
    const wasAtEnd = this.sticks;
    const from = this.log.scrollHeight - this.log.scrollTop;
    const added = show(this.list, chat.entries, owner.zone, (...tap) => this.tap(...tap));
    if (other) {
      this.toEnd();
      return [];
    }
    this.follow(added, wasAtEnd, from);
    return added.filter((item) => item.classList.contains("told"));
  }

  tick(now) {
    this.part(".local-time").textContent = timeOf(now, this.owner.zone);
    this.part(".local-date").textContent = dayOf(now, this.owner.zone);
    this.part(".local-day").textContent = shortDayOf(now, this.owner.zone);
  }

  loudUnread(entries, seen) {
    return entries.some((entry) => LOUD.has(entry.kind) && Number(entry.id.split("-").at(-1)) > seen);
  }

  changeHands() {
    this.list.replaceChildren();
    this.taps.clear();
    this.pending = null;
    this.box.value = "";
    this.trouble("");
    this.fit();
    this.most = AT_FIRST;
    this.sticks = true;
  }

  choose(people, unreadOf) {
    const select = this.part("select");
    const groups = GROUPS.map(([group, roles]) => [
      group,
      people.filter((one) => roles.includes(one.role)).map((one) => [one.address, nameOf(one, unreadOf(one))]),
    ]);
    const print = JSON.stringify(groups);
    if (select.dataset.print !== print) {
      select.dataset.print = print;
      select.replaceChildren(...groups.filter(([, list]) => list.length).map(([group, list]) => {
        const made = element("optgroup");
        made.label = say(group);
        made.append(...list.map(([address, label]) => {
          const option = element("option", "", label);
          option.value = address;
          return option;
        }));
        return made;
      }));
    }
    select.value = this.owner.address;
  }

  // Keeps the reader's place: at the end, the first new message comes into view; else nothing moves.
  follow(added, wasAtEnd, from) {
    if (!added.length) {
      if (wasAtEnd) this.toEnd();
      return;
    }
    if (added[0] === this.list.firstElementChild) {
      this.log.scrollTop = this.log.scrollHeight - from; // earlier messages came in above
    } else if (wasAtEnd || this.awaits) {
      const told = added.find((item) => item.classList.contains("told"));
      if (told) this.awaits = false; // the writer's own words may come in before the answer
      this.bring(told ?? added[0]);
    }
    this.mark();
    for (const item of added) item.classList.add("fresh");
  }

  scrolled() {
    this.sticks = this.nearEnd();
    this.mark();
  }

  // Shows that there is more below, for those who do not expect a page to scroll.
  mark() {
    const last = this.list.lastElementChild?.getBoundingClientRect();
    this.part(".below").hidden = !last || last.bottom < this.frame().bottom + NEAR / 2;
  }

  // One screen further down.
  onward() {
    const { scroller, top, bottom } = this.frame();
    scroller.scrollTop += (bottom - top) * 0.8;
  }

  // What scrolls, and the part of the screen in which messages are seen.
  frame() {
    if (getComputedStyle(this.log).overflowY === "visible") {
      const bottom = this.part(".writer").getBoundingClientRect().top;
      return { scroller: document.scrollingElement, top: 0, bottom: Math.min(bottom, innerHeight) };
    }
    const { top, bottom } = this.log.getBoundingClientRect();
    return { scroller: this.log, top, bottom };
  }

  // Whether the reader is at the end: its last lines, or a long last message from its top.
  nearEnd() {
    const last = this.list.lastElementChild?.getBoundingClientRect();
    if (!last) return true;
    const { top, bottom } = this.frame();
    const long = last.height > bottom - top - NEAR;
    return last.bottom < bottom + NEAR || (long && last.top < bottom - NEAR);
  }

  // Brings a message to the top of the screen, or as far as there is something below it.
  bring(item) {
    const { scroller, top } = this.frame();
    scroller.scrollTop += item.getBoundingClientRect().top - top - GAP;
    this.scrolled();
  }

  // To the end; a last message that is longer than the screen is shown from its top.
  toEnd() {
    const last = this.list.lastElementChild;
    if (!last) return;
    const { scroller, top, bottom } = this.frame();
    const place = last.getBoundingClientRect();
    scroller.scrollTop += Math.min(place.top - top - GAP, place.bottom - bottom + GAP);
    this.mark();
    this.sticks = true;
  }

  fit() {
    this.box.style.height = "auto";
    this.box.style.height = `${this.box.scrollHeight + 4}px`;
  }

  trouble(words) {
    this.part(".trouble").textContent = words;
    this.part(".trouble").hidden = !words;
  }

  async write() {
    const text = this.box.value;
    if (!text.trim() || this.pending?.running) return;
    // The same words sent again carry the same id, so that they cannot arrive twice.
    const again = this.pending?.text === text ? this.pending : null;
    const message = { text, update: again?.update ?? newId(), running: true };
    const address = this.owner.address;
    this.pending = message;
    const button = this.part("form button");
    button.setAttribute("aria-disabled", "true");
    this.trouble("");
    try {
      await send({ phone: address, update: message.update, kind: "text", text });
      if (this.pending === message) {
        this.pending = null;
        if (this.box.value === text) this.box.value = "";
        this.fit();
        this.awaits = true;
      }
    } catch (error) {
      if (this.pending === message) {
        message.running = false;
        this.trouble(say(error.message === "400" ? "tooLong" : "notSent"));
      }
    }
    button.removeAttribute("aria-disabled");
    this.onChanged();
  }

  async tap(button, message, value) {
    if (button.getAttribute("aria-busy") === "true") return;
    const update = this.taps.get(button) ?? newId();
    this.taps.set(button, update);
    const item = button.closest("li");
    item.querySelector(".tap-trouble")?.remove();
    button.setAttribute("aria-busy", "true");
    try {
      await send({ phone: this.owner.address, update, kind: "tap", tap: value, message });
      this.taps.delete(button);
      this.awaits = true;
    } catch {
      const note = element("p", "tap-trouble", say("notSent"));
      note.setAttribute("role", "alert");
      item.append(note);
    }
    button.removeAttribute("aria-busy");
    this.onChanged();
  }
}

function nameOf(one, unread) {
  const parts = [one.role === "new" ? one.name : `${one.name}, ${say(one.role)}`];
  if (STATES[one.state]) parts.push(say(STATES[one.state]));
  const line = parts.join(" – ");
  return unread ? `● ${line} – ${say("unread")}` : line;
}
