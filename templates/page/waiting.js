// How far the practice is; once the trial page has taken this one's place, it is loaded.

const EVERY = 250;
const PATIENCE = 15000;

const bar = document.querySelector("progress");
const lost = document.querySelector(".lost");

async function look() {
  try {
    const answer = await fetch("/making", { signal: AbortSignal.timeout(PATIENCE) });
    if (!answer.ok) {
      location.reload();
      return;
    }
    const { done, of } = await answer.json();
    if (of > 0) {
      bar.max = of;
      bar.value = done;
    }
    lost.hidden = true;
  } catch {
    lost.hidden = false;
  }
  setTimeout(look, EVERY);
}

look();
