// Photos of a set: the box of what is never cut is dragged or moved by keys, every cut is drawn anew at once, and what
// was changed is saved when it rests. All of it is in the form's fields, which do the same without a script.

const SIDES = ["left", "top", "right", "bottom"];
const LEAST = 0.02; // of the picture's side, that a box measures
const STEP = 0.01;
const RESTS = 500; // milliseconds without a key before it is saved

const photoOf = (part) => part.closest("article.photo");
const fieldOf = (photo, side) => photo.querySelector(`input[name=${side}]`);
const within = (value, least, most) => Math.min(Math.max(value, least), most);

// The box: shares of the picture, as it is drawn.

function boxOf(photo) {
  const rect = photo.querySelector("svg .box");
  const { width, height } = photo.querySelector("svg").viewBox.baseVal;
  const [x, y, wide, high] = ["x", "y", "width", "height"].map((name) => Number(rect.getAttribute(name)));
  return [x / width, y / height, (x + wide) / width, (y + high) / height];
}

function draw(photo, box) {
  const svg = photo.querySelector("svg");
  const { width, height } = svg.viewBox.baseVal;
  const [left, top, right, bottom] = [box[0] * width, box[1] * height, box[2] * width, box[3] * height];
  const sides = { x: left, y: top, width: right - left, height: bottom - top };
  for (const [name, value] of Object.entries(sides)) svg.querySelector(".box").setAttribute(name, value);
  const hole = `M${left} ${top}H${right}V${bottom}H${left}Z`;
  svg.querySelector(".shade").setAttribute("d", `M0 0H${width}V${height}H0Z ${hole}`);
  for (const corner of svg.querySelectorAll(".corner")) {
    corner.setAttribute("cx", corner.dataset.corner[0] === "l" ? left : right);
    corner.setAttribute("cy", corner.dataset.corner[1] === "t" ? top : bottom);
  }
  svg.classList.remove("guessed");
}

function put(photo, box) {
  draw(photo, box);
  SIDES.forEach((side, at) => { fieldOf(photo, side).value = String(Math.round(box[at] * 1000) / 10); });
  cut(photo);
}

function moved(box, across, down) {
  const [x, y] = [within(across, -box[0], 1 - box[2]), within(down, -box[1], 1 - box[3])];
  return [box[0] + x, box[1] + y, box[2] + x, box[3] + y];
}

function stretched(box, corner, across, down) {
  const [left, top, right, bottom] = box;
  return [
    corner[0] === "l" ? within(left + across, 0, right - LEAST) : left,
    corner[1] === "t" ? within(top + down, 0, bottom - LEAST) : top,
    corner[0] === "r" ? within(right + across, left + LEAST, 1) : right,
    corner[1] === "b" ? within(bottom + down, top + LEAST, 1) : bottom,
  ];
}

// Cuts: asked for one box at a time; what was moved meanwhile comes next.

async function cut(photo) {
  if (photo.dataset.cutting) { photo.dataset.again = "yes"; return; }
  photo.dataset.cutting = "yes";
  delete photo.dataset.again;
  const focus = boxOf(photo).map((side) => side.toFixed(4)).join(",");
  try {
    const answer = await fetch(`${photo.dataset.crops}?focus=${focus}`);
    const drawn = await answer.json();
    if (drawn.verdict) say(photo.querySelector(".verdict"), drawn.verdict);
    const places = [...photo.querySelectorAll(".crop")];
    const pictures = await Promise.all((drawn.crops || []).map((crop) => bitmap(crop.jpeg)));
    pictures.forEach((picture, at) => { if (places[at]) show(places[at], drawn.crops[at], picture); });
    photo.dataset.drawn = focus;
  } catch {
    // the desk was closed; saving says so
  }
  delete photo.dataset.cutting;
  if (photo.dataset.again) cut(photo);
}

function bitmap(jpeg) {
  const bytes = Uint8Array.from(atob(jpeg), (sign) => sign.charCodeAt(0));
  return createImageBitmap(new Blob([bytes], { type: "image/jpeg" }));
}

function show(place, crop, picture) {
  let canvas = place.querySelector("canvas");
  if (!canvas) {
    const image = place.querySelector("img");
    canvas = document.createElement("canvas");
    canvas.setAttribute("role", "img");
    canvas.setAttribute("aria-label", image.alt);
    image.replaceWith(canvas);
  }
  if (canvas.width !== picture.width || canvas.height !== picture.height) {
    canvas.width = picture.width;
    canvas.height = picture.height;
  }
  canvas.getContext("2d").drawImage(picture, 0, 0);
  place.className = `crop ${crop.state}`;
  say(place.querySelector(".cut-says"), crop.says);
}

function say(place, text) {
  if (place && place.textContent !== text) place.textContent = text;
}

// Saving: one after the other, since each needs the file as the one before left it.

let queue = Promise.resolve();
const waiting = new Map();

function save(form, after = 0) {
  clearTimeout(waiting.get(form));
  waiting.set(form, setTimeout(() => {
    waiting.delete(form);
    queue = queue.then(() => send(form));
  }, after));
}

async function send(form) {
  const photo = photoOf(form);
  const state = photo.querySelector(".state");
  say(state, state.dataset.saving);
  let answer;
  try {
    answer = await fetch(form.action, { method: "POST", body: new FormData(form) });
  } catch {
    say(state, state.dataset.lost);
    return;
  }
  const text = await answer.text();
  if (!(answer.headers.get("content-type") || "").startsWith("text/html")) { say(state, text); return; }
  const page = new DOMParser().parseFromString(text, "text/html");
  const fresh = [...page.querySelectorAll("article.photo")].find((each) => each.dataset.name === photo.dataset.name);
  if (!fresh) { // what is to be chosen first
    document.querySelector("main").replaceWith(page.querySelector("main"));
    ready();
    return;
  }
  say(state, answer.ok ? state.dataset.saved : "");
  renew(page, photo, fresh);
}

function renew(page, photo, fresh) {
  document.body.dataset.reading = page.body.dataset.reading;
  for (const part of [".note", "[data-general]"]) document.querySelector(part).replaceWith(page.querySelector(part));
  for (const field of page.querySelectorAll("article.photo input[name^='shown/']")) {
    for (const here of document.getElementsByName(field.name)) here.value = field.value;
    break;
  }
  for (const each of page.querySelectorAll("article.photo")) { // what is wrong with one may be told of another
    const here = [...document.querySelectorAll("article.photo")].find((at) => at.dataset.name === each.dataset.name);
    const [before, now] = [here, each].map((at) => at && at.querySelector("[data-says]"));
    if (before && now) before.replaceWith(now);
  }
  for (const part of [".verdict", ".sides .hint"]) say(photo.querySelector(part), fresh.querySelector(part).textContent);
  photo.querySelector("svg").classList.toggle("guessed", fresh.querySelector("svg").classList.contains("guessed"));
  say(photo.querySelector("[data-made]"), fresh.querySelector("[data-made]").textContent);
  for (const place of photo.querySelectorAll(".of-photo .fault")) place.remove();
  for (const place of fresh.querySelectorAll(".of-photo .fault")) {
    photo.querySelector("[data-says]").append(place);
  }
}

// Hands and keys. Everything is heard on the page, since its parts are put in place anew.

let drag = null;

document.addEventListener("pointerdown", (event) => {
  const svg = event.target.closest && event.target.closest(".never-cut svg");
  if (!svg || event.button !== 0 || !(event.target.matches(".box") || event.target.matches(".corner"))) return;
  const photo = photoOf(svg);
  drag = { photo, box: boxOf(photo), corner: event.target.dataset.corner, x: event.clientX, y: event.clientY,
    size: svg.getBoundingClientRect(), moved: false };
  event.target.setPointerCapture(event.pointerId);
  svg.querySelector(".box").focus({ preventScroll: true });
  event.preventDefault();
});

// A finger on the box moves it and not the page; beside it the page scrolls.
document.addEventListener("touchstart", (event) => {
  if (event.target.matches && event.target.matches(".live .never-cut :is(.box, .corner)")) event.preventDefault();
}, { passive: false });

document.addEventListener("pointermove", (event) => {
  if (!drag) return;
  const across = (event.clientX - drag.x) / drag.size.width;
  const down = (event.clientY - drag.y) / drag.size.height;
  drag.moved = drag.moved || Math.abs(event.clientX - drag.x) + Math.abs(event.clientY - drag.y) > 2;
  if (!drag.moved) return;
  put(drag.photo, drag.corner ? stretched(drag.box, drag.corner, across, down) : moved(drag.box, across, down));
});

for (const kind of ["pointerup", "pointercancel"]) {
  document.addEventListener(kind, () => {
    if (drag && drag.moved) save(drag.photo.querySelector("form.of-photo"));
    drag = null;
  });
}

const ARROWS = { ArrowLeft: [-STEP, 0], ArrowRight: [STEP, 0], ArrowUp: [0, -STEP], ArrowDown: [0, STEP] };

document.addEventListener("keydown", (event) => {
  const arrow = ARROWS[event.key];
  if (!arrow || !event.target.matches || !event.target.matches(".never-cut .box")) return;
  event.preventDefault();
  const photo = photoOf(event.target);
  put(photo, event.shiftKey ? stretched(boxOf(photo), "rb", ...arrow) : moved(boxOf(photo), ...arrow));
  save(photo.querySelector("form.of-photo"), RESTS);
});

function typedBox(photo) {
  const texts = SIDES.map((side) => fieldOf(photo, side).value);
  const box = texts.map((text) => Number(text) / 100);
  const sound = texts.every((text) => text !== "") && box.every((side) => side >= 0 && side <= 1);
  return sound && box[0] < box[2] && box[1] < box[3] ? box : null;
}

document.addEventListener("input", (event) => {
  if (!SIDES.includes(event.target.name) || !photoOf(event.target)) return;
  const photo = photoOf(event.target);
  const box = typedBox(photo);
  if (box) {
    draw(photo, box);
    cut(photo);
  }
});

document.addEventListener("change", (event) => {
  const form = event.target.closest && event.target.closest("form.of-photo");
  if (!form) return;
  const texts = SIDES.map((side) => fieldOf(photoOf(form), side).value);
  if (SIDES.includes(event.target.name) && texts.some((text) => text === "") && texts.some((text) => text !== "")) return;
  save(form);
});

document.addEventListener("submit", (event) => {
  if (!event.target.matches("form.of-photo")) return;
  event.preventDefault();
  save(event.target);
});

window.addEventListener("pagehide", () => {
  for (const [form, timer] of waiting) {
    clearTimeout(timer);
    fetch(form.action, { method: "POST", body: new FormData(form), keepalive: true });
  }
  waiting.clear();
});

// The order: a picture is dragged onto another one's place.

let held = null;

document.addEventListener("dragstart", (event) => {
  held = event.target.closest && event.target.closest(".in-order li");
  if (!held) return;
  held.classList.add("dragged");
  event.dataTransfer.effectAllowed = "move";
  event.dataTransfer.setData("text/plain", held.dataset.name);
});
document.addEventListener("dragover", (event) => {
  const place = held && event.target.closest(".in-order li");
  for (const each of document.querySelectorAll(".in-order .over")) if (each !== place) each.classList.remove("over");
  if (!place) return;
  event.preventDefault();
  place.classList.add("over");
});
document.addEventListener("drop", (event) => {
  const place = held && event.target.closest(".in-order li");
  if (!place || place === held) return;
  event.preventDefault();
  const form = held.querySelector("form");
  const to = document.createElement("input");
  to.type = "hidden";
  to.name = "to";
  to.value = String([...place.parentElement.children].indexOf(place));
  form.append(to);
  form.requestSubmit();
});
document.addEventListener("dragend", () => {
  for (const each of document.querySelectorAll(".in-order li")) each.classList.remove("dragged", "over");
  held = null;
});

// What works with a script alone.

document.documentElement.classList.add("live");

function ready() {
  for (const svg of document.querySelectorAll(".never-cut svg[role=img]")) {
    svg.setAttribute("role", "group");
    const box = svg.querySelector(".box");
    box.setAttribute("tabindex", "0");
    box.setAttribute("role", "application");
    box.setAttribute("aria-label", svg.dataset.label);
  }
  for (const place of document.querySelectorAll(".in-order li")) place.draggable = true;
}

new MutationObserver(ready).observe(document.body, { childList: true });
ready();
