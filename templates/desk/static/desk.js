// Every page: when its window comes back to the front, or while it waits, ask whether the shop was read anew since.
// A page without anything typed is loaded again; on another the owner decides.

const shown = Number(document.body.dataset.reading);
const waits = document.querySelector("[data-waits]");
const moved = document.getElementById("moved");
let typed = false;
document.addEventListener("input", () => { typed = true; });

async function look() {
  let news;
  try {
    const answer = await fetch("/news", { headers: { accept: "application/json" } });
    if (!answer.ok) return;
    news = await answer.json();
  } catch {
    return; // the desk was closed
  }
  if (waits && news.checked >= news.reading) location.reload();
  else if (news.reading === shown) return;
  else if (!typed && !document.querySelector("form.fields")) location.reload();
  else moved.hidden = false;
}

document.addEventListener("visibilitychange", () => { if (!document.hidden) look(); });
window.addEventListener("focus", look);
if (waits) setInterval(look, 700);

// What a link leads to is shown open and given the focus, so that keys and voices begin there.
function arrive() {
  const target = location.hash && document.getElementById(decodeURIComponent(location.hash.slice(1)));
  if (target) target.focus();
}
window.addEventListener("hashchange", arrive);
arrive();
