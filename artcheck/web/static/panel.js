// The separation: what is wished for, its making, its plates.

import { pictureOf } from "./arts.js";
import { artQuery } from "./order.js";
import * as server from "./server.js";
import { dress } from "./stage.js";

const by = (id) => document.getElementById(id);
const EVERY_MS = 250;
const wait = (ms) => new Promise((resolve) => setTimeout(resolve, ms));

/** The key of what the order asks for now, of what is being made, and of what is shown. */
let asked = "";
let making = "";
let shown = "";
let art = "";

/** A new answer of the server's: what its key is, and how far that is. */
export function follow([key, state], print) {
  asked = key;
  fill(print);
  if (print.art !== art) forget();
  art = print.art;
  if (key === shown || key === making) settle();
  else if (state === "ready" || state === "making") watch(key);
  else settle();
}

/** Make what is asked for; `request` holds the order. */
export async function make(request) {
  tell([]);
  by("making").textContent = "sending …";
  try {
    const { key } = await server.separate(request);
    asked = key;
    await watch(key);
  } catch (error) {
    by("making").textContent = "";
    tell(error.faults ?? [String(error)]);
  }
}

/** Stop what is being made. */
export async function stop() {
  const key = making;
  making = "";
  settle();
  by("making").textContent = "Stopped.";
  by("make").focus({ preventScroll: true });
  await server.stopSeparation(key).catch(() => {});
}

/** Nothing shown belongs to another print. */
function forget() {
  making = shown = "";
  by("made").replaceChildren();
  tell([]);
  by("making").textContent = "";
}

async function watch(key) {
  making = key;
  settle();
  try {
    let seen = await server.lookAtSeparation(key);
    while (making === key && seen.state === "making") {
      says(`${seen.doing} …`);
      await wait(EVERY_MS);
      if (making === key) seen = await server.lookAtSeparation(key);
    }
    if (making !== key) return;
    says("");
    if (seen.state === "ready") show(key, seen);
    else tell(seen.faults);
  } catch (error) {
    if (making !== key) return;
    says("");
    if (error.status !== 404) tell(error.faults ?? [String(error)]);
  }
  making = "";
  settle();
}

function says(words) {
  if (by("making").textContent !== words) by("making").textContent = words;
}

function show(key, { html, cloth }) {
  shown = key;
  tell([]);
  by("made").innerHTML = html;
  const view = by("plate-view");
  by("plate-frame").style.setProperty("--shape", view.width / view.height);
  dress(by("plate-cloth"), cloth);
}

/** The buttons and the words beside them, after any change. */
function settle() {
  const busy = making !== "";
  const stale = shown !== "" && shown !== asked;
  const held = document.activeElement === by("make") || document.activeElement === by("unmake");
  by("make").hidden = busy || (shown !== "" && !stale);
  by("unmake").hidden = !busy;
  by("make").textContent = stale ? "Make them again" : isFilm() ? "Make the film" : "Make the plates";
  by("stale").hidden = !stale || busy;
  by("made").classList.toggle("stale", stale);
  for (const one of by("made").querySelectorAll(".take")) one.hidden = stale;
  if (held && busy) by("unmake").focus({ preventScroll: true });
}

function tell(faults) {
  by("plate-faults").textContent = faults.join("\n");
  by("plate-faults").hidden = faults.length === 0;
}

// --- the ladder --------------------------------------------------------------------------------

/** The pictures of the art in fewer inks that are there, by their address. */
export function keptPictures() {
  return new Map([...by("choice").querySelectorAll("img[src]")].map((one) => [one.getAttribute("src"), one]));
}

/** Put the pictures into newly drawn cards; those that are there already are not fetched again. */
export function drawPictures(print, kept) {
  for (const ground of by("choice").querySelectorAll("[data-cloth]")) dress(ground, ground.dataset.cloth);
  for (const one of by("choice").querySelectorAll("img[data-inks]")) {
    const { inks, garment } = one.dataset;
    const words = artQuery(print);
    words.set("inks", inks);
    if (garment) words.set("garment", garment);
    const address = `/api/ladder/${print.art}?${words}`;
    const before = kept.get(address);
    if (before && before !== one) one.replaceWith(before);
    else if (!before) one.src = address;
  }
}

// --- wishes ------------------------------------------------------------------------------------

/** Whether a film is made, and inks are not counted. */
function isFilm() {
  const counts = by("choice").querySelector(".counts");
  const chosen = by("choice").querySelector("[data-plate=k]:checked");
  return counts === null || ("film" in counts.dataset && (chosen === null || chosen.value === ""));
}

/** Put a print's wishes into the fields that the server drew. */
function fill(print) {
  const counts = [...by("choice").querySelectorAll("[data-plate=k]")];
  for (const one of counts) one.checked = one.value === print.k;
  if (counts.length && !counts.some((one) => one.checked)) counts[0].checked = true;
  for (const one of by("choice").querySelectorAll("[data-plate=soft], [data-plate=knock]")) one.checked = print[one.dataset.plate];
  for (const one of by("choice").querySelectorAll("[data-plate=trap]")) if (one !== document.activeElement) one.value = print.trap;
  for (const one of by("choice").querySelectorAll("[data-lock]")) one.checked = print.locks.some(([name]) => name === one.dataset.lock);
  for (const one of by("choice").querySelectorAll("[data-for]")) one.hidden = (one.dataset.for === "film") !== isFilm();
}

/** Take a changed field over into the print; false where it is none of these. */
export function take(print, field) {
  const { plate, lock, colour } = field.dataset;
  if (plate) print[plate] = field.type === "checkbox" ? field.checked : field.value;
  else if (lock) {
    print.locks = print.locks.filter(([name]) => name !== lock);
    if (field.checked) print.locks.push([lock, colour]);
  }
  return Boolean(plate || lock);
}

/** Show the proof, the art as it came, or a plate. */
export function look(field, print) {
  const view = by("plate-view");
  view.src = field.value === "art" ? pictureOf(print, "picture") : field.value;
  view.alt = field.dataset.says;
  by("plate-cloth").classList.toggle("film", "film" in field.dataset);
}
