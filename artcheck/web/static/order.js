// The order's state: what the form holds, what the address of the page keeps, what the server gets.

const INCHES = { in: 1, mm: 1 / 25.4, cm: 1 / 2.54 };

/** An order with no art yet. */
export function emptyOrder() {
  return {
    quantity: "", kind: "", colour: "", fabric: "", name: "", sizes: "", children: "",
    care_dots: "", supplied: false, rush: false, unit: "in", shown: 0, on: [], prints: [],
    customer: "", number: "", date: "", needed_by: "",
  };
}

/** One print of the order; `art` is the file's hash, `file` the name it came under. */
export function emptyPrint(art, file) {
  return {
    art, file, width: "", placement: "", background: "auto", page: "", art_minutes: "",
    each_different: false, inks: "", method: "", brands: [],
    k: "", trap: "", soft: false, knock: false, locks: [],
  };
}

/** What only the papers say. */
const PAPER_KEYS = ["customer", "number", "date", "needed_by"];

export const ORDER_KEYS = ["quantity", "kind", "colour", "fabric", "name", "sizes", "children", "care_dots", "supplied", "rush", "unit", ...PAPER_KEYS];
export const PRINT_KEYS = ["width", "placement", "background", "page", "art_minutes", "each_different", "inks"];

/** How a print is separated; these have no field in the order's form. */
const PLATE_KEYS = ["k", "trap", "soft", "knock"];
const KEPT_KEYS = [...PRINT_KEYS, "method", ...PLATE_KEYS];

// --- the address -------------------------------------------------------------------------------

/** The state as the part of the address behind `#`. */
export function toAddress(order) {
  const plain = emptyOrder();
  const words = new URLSearchParams();
  for (const key of ORDER_KEYS) if (order[key] !== plain[key]) words.set(key, String(order[key]));
  order.prints.forEach((print, number) => {
    const blank = emptyPrint("", "");
    words.set(`art${number}`, print.art);
    words.set(`file${number}`, print.file);
    for (const key of KEPT_KEYS) {
      if (print[key] !== blank[key]) words.set(`${key}${number}`, String(print[key]));
    }
    for (const brand of print.brands) {
      words.append(`keep${number}`, JSON.stringify([brand.name, brand.colour, brand.critical]));
    }
    for (const lock of print.locks) words.append(`lock${number}`, JSON.stringify(lock));
  });
  if (order.shown) words.set("shown", order.shown);
  if (order.on.length) words.set("on", order.on.join(","));
  return words.toString();
}

/** The state out of such an address; what makes no sense is left out. */
export function fromAddress(text) {
  const words = new URLSearchParams(text);
  const order = emptyOrder();
  for (const key of ORDER_KEYS) if (words.has(key)) order[key] = like(order[key], words.get(key));
  for (let number = 0; words.has(`art${number}`); number += 1) {
    const art = words.get(`art${number}`);
    if (!/^[0-9a-f]{64}$/.test(art)) break;
    const print = emptyPrint(art, words.get(`file${number}`) || "art");
    for (const key of KEPT_KEYS) {
      if (words.has(`${key}${number}`)) print[key] = like(print[key], words.get(`${key}${number}`));
    }
    print.brands = words.getAll(`keep${number}`).map(brandOf).filter(Boolean);
    print.locks = words.getAll(`lock${number}`).map(brandOf).filter(Boolean).map(({ name, colour }) => [name, colour]);
    order.prints.push(print);
  }
  order.shown = Math.min(Math.max(0, Number(words.get("shown")) || 0), Math.max(0, order.prints.length - 1));
  order.on = (words.get("on") || "").split(",").filter(Boolean);
  if (!(order.unit in INCHES)) order.unit = "in";
  return order;
}

function like(example, text) {
  return typeof example === "boolean" ? text === "true" : text;
}

function brandOf(text) {
  try {
    const [name, colour, critical] = JSON.parse(text);
    return { name: String(name), colour: String(colour), critical: Boolean(critical) };
  } catch {
    return null;
  }
}

// --- what the server gets ----------------------------------------------------------------------

/**
 * The request for an answer: the order in the server's own words, and each print's file.
 * @param {number[]} counting the places of the prints that are part of it
 */
export function toRequest(order, counting) {
  const prints = counting.map((number) => order.prints[number]);
  const told = (text) => (text === "" ? null : text);
  const number = (text) => (text === "" ? null : Number(text));
  const sizes = sizesOf(order.sizes);
  return {
    arts: prints.map((print) => print.art),
    shown: Math.max(0, counting.indexOf(order.shown)),
    separations: prints.map(separationOf),
    order: {
      name: order.name, customer: order.customer, number: order.number,
      date: told(order.date), needed_by: told(order.needed_by),
      rush: order.rush,
      garment: {
        kind: told(order.kind), colour: told(order.colour), fabric: told(order.fabric),
        quantity: sizes.length ? null : number(order.quantity), sizes,
        care_dots: number(order.care_dots), supplied: order.supplied,
        for_children: order.children === "" ? null : order.children === "yes",
      },
      prints: prints.map((print) => ({
        art: print.file,
        width_in: print.width === "" ? null : inches(print.width, order.unit),
        placement: told(print.placement),
        background: print.background,
        page: number(print.page) ?? 1,
        each_different: print.each_different,
        inks: print.inks.split(",").map((ink) => ink.trim()).filter(Boolean),
        art_minutes: number(print.art_minutes) ?? 0,
        method: told(print.method),
        brand_colours: print.brands.filter((brand) => brand.name && brand.colour),
      })),
    },
  };
}

/** How a print is to be separated, in the server's own words. */
function separationOf({ k, trap, soft, knock, locks }) {
  return {
    inks: k === "" ? null : Number(k),
    trap_pt: trap === "" ? null : Number(trap),
    film_edges: soft ? "soft" : "hard",
    knock_out_garment: knock,
    locked: locks.map(([name, colour]) => ({ name, colour, critical: true })),
  };
}

/** Such a wish as a print's state. */
function wishesOf(wish) {
  if (!wish) return {};
  const text = (value) => (value === null ? "" : String(value));
  return {
    k: text(wish.inks), trap: text(wish.trap_pt), soft: wish.film_edges === "soft",
    knock: wish.knock_out_garment, locks: wish.locked.map(({ name, colour }) => [name, colour]),
  };
}

/** An order of the server's, out of a job folder, as a state. */
export function fromServer({ order: kept, arts, separations = [] }) {
  const order = emptyOrder();
  const { garment } = kept;
  const text = (value) => (value === null || value === undefined ? "" : String(value));
  for (const key of ["kind", "colour", "fabric", "quantity", "care_dots"]) order[key] = text(garment[key]);
  order.supplied = garment.supplied;
  order.rush = kept.rush;
  order.name = kept.name;
  for (const key of PAPER_KEYS) order[key] = text(kept[key]);
  order.children = garment.for_children === null ? "" : garment.for_children ? "yes" : "no";
  order.sizes = garment.sizes.map((one) => `${one.size} ${one.quantity}`).join(", ");
  order.prints = kept.prints.map((print, number) => ({
    ...emptyPrint(arts[number], print.art),
    width: text(print.width_in), placement: text(print.placement), background: print.background,
    page: print.page === 1 ? "" : text(print.page), method: text(print.method),
    art_minutes: print.art_minutes ? text(print.art_minutes) : "",
    each_different: print.each_different, inks: print.inks.join(", "),
    brands: print.brand_colours.map(({ name, colour, critical }) => ({ name, colour, critical })),
    ...wishesOf(separations[number]),
  }));
  return order;
}

/** "S 4, youth L 6" as sizes; a part that is no size and number is left out. */
export function sizesOf(text) {
  return text.split(",").flatMap((part) => {
    const found = /^\s*(.*\S)\s+(\d+)\s*$/.exec(part);
    if (!found) return [];
    return [{ size: found[1], quantity: Number(found[2]), youth: /youth|child|kid/i.test(found[1]) }];
  });
}

/** A length in inches. */
export function inches(length, unit) {
  return Number(length) * INCHES[unit];
}

/** Inches in another unit, to what can be cut. */
export function inUnit(length_in, unit) {
  return String(Number((length_in / INCHES[unit]).toFixed(unit === "mm" ? 0 : 2)));
}

/** What a measurement of this print depends on, as the server's query. */
export function artQuery(print) {
  return new URLSearchParams({ background: print.background, page: print.page || "1" });
}
