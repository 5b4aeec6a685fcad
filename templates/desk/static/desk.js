// Every page: when its window comes back to the front, or while it waits, ask whether the shop was read anew since.
// A page on which nobody is at work is put in place anew; on another the owner is told, and decides. What a link led to
// has the focus, and is no work.

let typed = false;
let leaving = false;
document.addEventListener("input", () => { typed = true; });
document.addEventListener("submit", () => { leaving = true; });
window.addEventListener("pagehide", () => { leaving = true; });
window.addEventListener("pageshow", () => { leaving = false; });

const waits = () => document.querySelector("[data-waits]");

function atWork() {
  const at = document.activeElement;
  return typed || document.querySelector("form.fields") || (at && at.closest("main") && at.tabIndex >= 0);
}

async function look() {
  try {
    const answer = await fetch("/news", { headers: { accept: "application/json" } });
    if (!answer.ok) return;
    const news = await answer.json();
    const moved = news.reading !== Number(document.body.dataset.reading);
    if (!moved && !(waits() && news.checked >= news.reading)) return;
    const asks = new CustomEvent("desk:news", { detail: news, cancelable: true }); // a room may know what to do
    if (!dispatchEvent(asks)) return;
    if (atWork()) document.getElementById("moved").hidden = false;
    else await renew();
  } catch {
    // the desk was closed
  }
}

async function renew() {
  const answer = await fetch(location.href);
  if (!answer.ok || leaving) return;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  if (leaving || atWork()) return;
  document.title = page.title;
  document.body.dataset.reading = page.body.dataset.reading;
  document.querySelector("main").replaceWith(page.querySelector("main"));
  arrive();
}

document.addEventListener("visibilitychange", () => { if (!document.hidden) look(); });
window.addEventListener("focus", look);
setInterval(() => { if (waits() && !leaving && document.getElementById("moved").hidden) look(); }, 700);

// What a link leads to is given the focus, so that keys and voices begin there.
function arrive() {
  const target = location.hash && document.getElementById(decodeURIComponent(location.hash.slice(1)));
  const note = document.querySelector("main > .note:not(.empty)");
  if (target) {
    for (let fold = target.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
    const folded = target.querySelector(":scope > .folds");
    if (folded) folded.open = true;
    (target.tagName === "DETAILS" ? target.querySelector("summary") : target).focus();
  } else if (note && document.activeElement === document.body) note.focus(); // what was pressed to get here is gone
}
window.addEventListener("hashchange", arrive);
arrive();
