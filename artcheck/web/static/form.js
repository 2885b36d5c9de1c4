// The form and the state: fields are named as the state's keys.

import { ORDER_KEYS, PRINT_KEYS, sizesOf } from "./order.js";

const form = document.getElementById("order");
const rows = form.querySelector("#brands ul");

/** Put the state into the form; the field that is being typed in is left alone. */
export function fill(order) {
  const print = order.prints[order.shown];
  for (const key of ORDER_KEYS) put(key, order[key]);
  for (const key of PRINT_KEYS) put(key, print ? print[key] : "");
  const pieces = sizesOf(order.sizes).reduce((sum, one) => sum + one.quantity, 0);
  form.elements.quantity.readOnly = pieces > 0;
  if (pieces) form.elements.quantity.value = pieces;
  const brands = print?.brands ?? [];
  while (rows.children.length > brands.length) rows.lastElementChild.remove();
  brands.forEach((brand, number) => {
    const row = rows.children[number] ?? addRow();
    for (const key of ["name", "colour"]) {
      const field = row.querySelector(`[data-brand=${key}]`);
      if (field !== document.activeElement) field.value = brand[key];
    }
    row.querySelector("[data-brand=critical]").checked = brand.critical;
  });
}

function put(key, value) {
  const field = form.elements[key];
  if (field.type === "checkbox") field.checked = value === true;
  else if (field !== document.activeElement) field.value = value;
}

function addRow() {
  rows.append(document.getElementById("brand-row").content.cloneNode(true));
  return rows.lastElementChild;
}

/** Take a changed field over into the state. */
export function take(order, field) {
  const value = field.type === "checkbox" ? field.checked : field.value;
  const print = order.prints[order.shown];
  if (field.dataset.brand) {
    const number = [...rows.children].indexOf(field.closest("li"));
    print.brands[number][field.dataset.brand] = value;
  } else if (ORDER_KEYS.includes(field.name)) {
    order[field.name] = value;
  } else if (PRINT_KEYS.includes(field.name) && print) {
    print[field.name] = value;
  }
}

/** Whether every field holds something that the browser takes for it. */
export const isSound = () => form.checkValidity();

/** Call back when a field changes, a colour is added (null) or taken away (its number). */
export function onChange(changed, brandsChanged) {
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("input", (event) => changed(event.target));
  form.querySelector("#add-brand").addEventListener("click", () => {
    brandsChanged(null);
    rows.lastElementChild?.querySelector("input").focus();
  });
  rows.addEventListener("click", (event) => {
    if (event.target.dataset.brand === "away") {
      brandsChanged([...rows.children].indexOf(event.target.closest("li")));
    }
  });
}
