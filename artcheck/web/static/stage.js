// The art on its garment: size, layers of marks, and the one place that a finding points at.

import { pictureOf } from "./arts.js";

const by = (id) => document.getElementById(id);
let shownArt = "";

/** Show a print's picture; nothing is fetched again that is already there. */
export function showArt(print, art) {
  const address = pictureOf(print, "picture");
  if (address === shownArt) return;
  shownArt = address;
  by("picture").src = address;
  by("picture").alt = `${print.file}, as it prints`;
  by("picture").width = art.width_px;
  by("picture").height = art.height_px;
  by("frame").style.setProperty("--shape", art.width_px / art.height_px);
  by("removed-switch").hidden = !art.removed;
  if (art.removed) by("removed").src = pictureOf(print, "removed");
  else by("removed").removeAttribute("src");
  by("spot").hidden = true;
}

/** Give a figure's ground the garment's colour. */
export function dress(ground, cloth) {
  ground.style.setProperty("--cloth", cloth);
  ground.classList.toggle("dark", isDark(cloth));
}

/** Switch on exactly the layers named, as far as there are such. */
export function setLayers(on) {
  for (const box of document.querySelectorAll(".switches input")) box.checked = on.includes(box.dataset.layer);
  for (const layer of document.querySelectorAll("#marks .layer")) {
    layer.toggleAttribute("hidden", !on.includes(layer.dataset.kind));
  }
  by("removed").hidden = !on.includes("removed") || !by("removed").hasAttribute("src");
}

/** Point at a place, in percent of the picture. */
export function pointAt(place) {
  const [left, top, width, height] = place.split(" ").map(Number);
  const spot = by("spot");
  Object.assign(spot.style, { left: `${left}%`, top: `${top}%`, width: `${width}%`, height: `${height}%` });
  spot.hidden = false;
  by("stage").scrollIntoView({ block: "nearest" });
}

function isDark(hex) {
  const value = Number.parseInt(hex.slice(1), 16);
  return 0.299 * (value >> 16) + 0.587 * ((value >> 8) & 255) + 0.114 * (value & 255) < 128;
}
