// Words and times as people read them.

const words = JSON.parse(document.getElementById("words").textContent);

export function say(name, values = {}) {
  return words[name].replace(/\{(\w+)\}/g, (_, key) => values[key]);
}

export function timeOf(moment, zone) {
  return new Intl.DateTimeFormat("en-GB", {
    timeZone: zone, hour: "numeric", minute: "2-digit", hour12: true,
  }).format(moment);
}

export function dayOf(moment, zone) {
  return new Intl.DateTimeFormat("en-GB", {
    timeZone: zone, weekday: "long", day: "numeric", month: "long",
  }).format(moment);
}

export function shortDayOf(moment, zone) {
  return new Intl.DateTimeFormat("en-GB", {
    timeZone: zone, weekday: "short", day: "numeric", month: "short",
  }).format(moment);
}

export function element(tag, className = "", text = "") {
  const made = document.createElement(tag);
  if (className) made.className = className;
  if (text) made.textContent = text;
  return made;
}
