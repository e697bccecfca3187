// The roads to the server. What is sent carries an id of our own: sent again, it does nothing.

const PATIENCE = 15000;
const PATIENCE_FOR_THE_CLOCK = 180000;

// crypto.randomUUID is missing where the page is not served from a secure origin.
export function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

async function ask(path, options = {}, patience = PATIENCE) {
  const answer = await fetch(path, { ...options, signal: AbortSignal.timeout(patience) });
  if (!answer.ok) throw new Error(String(answer.status));
  return answer.json();
}

function post(path, value, patience) {
  return ask(path, {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify(value),
  }, patience);
}

export function loadState(addresses, most) {
  const query = new URLSearchParams(addresses.map((one) => ["phone", one]));
  query.set("most", most);
  return ask(`/state?${query}`);
}

export function send(message) {
  return post("/send", message);
}

export function moveClock(to, phone) {
  return post("/clock", { to, phone }, PATIENCE_FOR_THE_CLOCK);
}

// Calls `news` whenever something may look different, and `connected` with true or false.
export function listen(news, connected) {
  const stream = new EventSource("/events");
  stream.onmessage = news;
  stream.onopen = () => connected(true);
  stream.onerror = () => {
    connected(false);
    // The browser gives up on some failures; then we start anew ourselves.
    if (stream.readyState === EventSource.CLOSED) setTimeout(() => listen(news, connected), 2000);
  };
}
