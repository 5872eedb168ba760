// The Plan page: fields and text of a setup in step, the curve that follows,
// and what the meniscus says. The server computes; this shows.

import { byID, element } from "./element";
import type { Curve, Field, Prediction, Stretch } from "./answer";
import { BuretteCurve, dashes, readingText, volumeText, withUncertainty } from "./curve";
import { set } from "./drawing";
import { Advice } from "./feasibility";
import { figures, number, typeset } from "./formula";

// refill fills a box anew where what it says, which key tells, has changed.
const filled = new WeakMap<Element, string>();
function refill(box: Element, key: string, inside: () => (Node | string)[]): void {
  if (filled.get(box) === key) return;
  filled.set(box, key);
  box.replaceChildren(...inside());
}

const text = byID<HTMLTextAreaElement>("setup");
const at = byID<HTMLInputElement>("at");
const curve = new BuretteCurve(byID("curve"));
const advice = new Advice();
let shown: Prediction = JSON.parse(byID("data").textContent!);
let changes: Change[] = [], flying: Change[] = []; // to be sent, and sent
let exact: number | undefined;
let busy = false, again = false;

interface Change {
  place: string[];
  value: string;
}

function among(list: Change[], key: string): boolean {
  return list.some((c) => c.place.join("/") === key);
}

// ask sends what changed. While an answer is awaited later changes gather, so
// that a fast hand never waits behind its own requests; and the next question
// is on its way before an answer is drawn.
async function ask(): Promise<void> {
  if (busy) {
    again = true;
    return;
  }
  busy = true;
  const from = text.value;
  flying = changes;
  changes = [];
  let p: Prediction | undefined;
  try {
    const r = await fetch("/api/predict", {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify({ setup: from, changes: flying, at_mL: exact, without: (["slope", "shares"] as const).filter((k) => !curve[k]) }),
    });
    if (!r.ok) throw new Error(r.status === 413 ? "The setup is too long to be sent." : `The bench answered with status ${r.status}.`);
    p = await r.json();
  } catch (e) {
    problem({ message: e instanceof TypeError ? "The bench does not answer. Is meniscus serve still running? What you typed is kept here." : String((e as Error).message) });
  }
  const fits = p && text.value === from;
  if (fits) {
    if (text.value !== p!.setup) text.value = p!.setup;
  } else {
    // The text was written on, or nobody answered: what was turned still counts.
    changes = [...flying.filter((c) => !among(changes, c.place.join("/"))), ...changes];
    again ||= p !== undefined;
  }
  flying = [];
  busy = false;
  if (again) {
    again = false;
    void ask();
  }
  if (fits) show(p!);
}

function show(p: Prediction): void {
  const wrong = p.problem !== undefined;
  shown = wrong && !p.curve ? { ...p, curve: shown.curve, fields: p.fields.length ? p.fields : shown.fields } : p;
  if (p.title) {
    refill(byID("title"), p.title, () => [typeset(p.title)]);
    if (document.title !== `${p.title} · meniscus`) document.title = `${p.title} · meniscus`;
  }
  problem(p.problem);
  doubts(p);
  fields(shown.fields);
  lines(p.problem?.line);
  if (p.curve) {
    shareChoices(p.curve);
    curve.show(p.curve);
  }
  byID("curve").classList.toggle("stale", wrong);
  if (wrong) advice.refuse("No verdict while the setup has a problem: it is said beside, where the doubts are.");
  else advice.follow(p.setup);
  // Measured by the benchmark from slider to paint.
  document.documentElement.dataset.shown = String(Number(document.documentElement.dataset.shown ?? 0) + 1);
}

// shareChoices offers the elements whose species can be shown.
function shareChoices(c: Curve): void {
  const select = byID<HTMLSelectElement>("share-of");
  if (c.shares) {
    const list = c.shares.map((g) => g.of);
    refill(select, list.join(), () => list.map((of) => new Option(of, of, false, of === curve.shareOf)));
    curve.shareOf = select.value;
  }
  byID("share-label").hidden = !curve.shares || select.options.length < 2;
}

function problem(p: Prediction["problem"]): void {
  if (p) set(text, { "aria-invalid": "true" });
  else text.removeAttribute("aria-invalid");
  refill(byID("problem"), JSON.stringify(p ?? ""), () => {
    if (!p) return [];
    const where = p.line ? `Line ${p.line}${p.column ? `, column ${p.column}` : ""}: ` : "";
    const said = element("p", "", where, typeset(p.message));
    return p.excerpt ? [said, element("pre", "", p.excerpt)] : [said];
  });
}

function doubts(p: Prediction): void {
  refill(byID("doubts"), JSON.stringify([p.warnings, p.notes]), () => [
    ...p.warnings.map((w) => element("p", "doubt", typeset(w))),
    ...p.notes.map((n) => element("p", "note", typeset(n))),
  ]);
}

// fields keeps the inputs that are there, so that the hand does not lose the
// one it holds.
const groups: Record<Field["group"], string> = { flask: "In the flask", burette: "In the burette", cell: "Electrode" };
const inputs = new Map<string, (f: Field) => void>();

function fields(list: Field[]): void {
  const box = byID("fields");
  const keys = list.map((f) => f.place.join("/"));
  if (keys.length === inputs.size && keys.every((k) => inputs.has(k))) {
    // One that was turned again since has a newer value than the answer.
    list.forEach((f, i) => {
      if (!among(changes, keys[i]) && !among(flying, keys[i])) inputs.get(keys[i])!(f);
    });
    return;
  }
  inputs.clear();
  box.replaceChildren();
  for (const [group, name] of Object.entries(groups)) {
    const set = element("fieldset", "", element("legend", "", name));
    list.forEach((f, i) => {
      if (f.group === group) set.append(f.choices ? choice(f, keys[i]) : quantity(f, keys[i]));
    });
    if (set.childElementCount > 1) box.append(set);
  }
}

function turn(place: string[], value: string): void {
  const key = place.join("/");
  changes = changes.filter((c) => c.place.join("/") !== key);
  changes.push({ place, value });
  void ask();
}

function quantity(f: Field, key: string): HTMLElement {
  const id = `field-${key}`, row = element("div", "field");
  const label = document.createElement("label");
  label.htmlFor = id;
  label.append(typeset(f.label));
  if (f.sought) label.append(" ", element("span", "guess", "sought"));
  const entry = document.createElement("input");
  entry.id = id;
  entry.inputMode = "decimal";
  entry.autocomplete = "off";
  const slider = document.createElement("input");
  slider.type = "range";
  slider.setAttribute("aria-label", `${f.label}, slide`);
  slider.min = String(f.min);
  slider.max = String(f.max);
  slider.step = String(f.step);
  let decimals = 0;
  const update = (g: Field) => {
    const x = number(g.value);
    if (document.activeElement !== entry && entry.value !== g.value) entry.value = g.value;
    entry.toggleAttribute("aria-invalid", false);
    if (x < Number(slider.min) || x > Number(slider.max)) {
      slider.min = String(g.min);
      slider.max = String(g.max);
      slider.step = String(g.step);
    }
    if (document.activeElement !== slider) {
      slider.value = String(x);
      const written = /[.,](\d+)/.exec(g.value)?.[1].length ?? 0;
      decimals = Math.max(written, -Math.floor(Math.log10(Number(slider.step)) + 1e-9));
    }
    set(slider, { "aria-valuetext": `${g.value} ${g.unit}` });
  };
  slider.addEventListener("input", () => {
    const v = Number(slider.value).toFixed(Math.max(0, decimals));
    entry.value = v;
    turn(f.place, v);
  });
  entry.addEventListener("input", () => {
    const x = number(entry.value);
    if (Number.isNaN(x)) {
      entry.setAttribute("aria-invalid", "true");
      return;
    }
    entry.toggleAttribute("aria-invalid", false);
    turn(f.place, entry.value.trim());
  });
  inputs.set(key, update);
  update(f);
  row.append(label, element("span", "entry", entry, element("span", "unit", f.unit)), slider);
  return row;
}

function choice(f: Field, key: string): HTMLElement {
  const id = `field-${key}`, row = element("div", "field");
  const label = document.createElement("label");
  label.htmlFor = id;
  label.textContent = f.label;
  const select = document.createElement("select");
  select.id = id;
  const update = (g: Field) => {
    refill(select, g.choices!.join("\n"), () => g.choices!.map((c) => new Option(c)));
    if (select.value !== g.value) select.value = g.value;
  };
  select.addEventListener("change", () => turn(f.place, select.value));
  inputs.set(key, update);
  update(f);
  row.append(label, select);
  return row;
}

// stands says everything about the point where the meniscus is.
function stands(i: number): void {
  const c = shown.curve!;
  const v = c.volume_mL[i], y = c.reading[i], volume = volumeText(v);
  if (document.activeElement !== at && at.value !== volume) at.value = volume;
  const reading = y === null ? "the reading is undefined" : readingText(c, y);
  const acidity = c.unit === "mV" && c.pH && c.pH[i] !== null ? `, pH ${c.pH[i]!.toFixed(2)}` : "";
  refill(byID("reads"), reading + acidity, () => [typeset(reading), acidity]);
  const said = y !== null && c.unit === "mV" ? [`Measured against ${c.reference}${c.reading_uncertainty ? `, whose potential and junction leave ± ${figures(c.reading_uncertainty, 1)} mV` : ""}. `] : [];
  const grip = within(c.governs, v);
  if (grip) said.push(grip.words + (grip.words.startsWith("nothing") ? ". " : grip.words.includes(" with ") ? " hold it together. " : " governs. "));
  const colour = within(c.colours, v), swatch = colour?.swatch ?? "";
  const rest = (colour ? `The solution is ${colour.words}. ` : "") + landmark(c, v);
  refill(byID("says"), `${said.join("")}\n${colour && swatch}\n${rest}`, () => {
    const out: (Node | string)[] = said.map(typeset);
    if (colour) {
      const patch = element("span", "swatch");
      patch.style.backgroundColor = swatch;
      out.push(patch);
    }
    return [...out, rest];
  });
  inFlask(c, i);
}

// landmark says which special point a volume is.
function landmark(c: Curve, v: number): string {
  const near = c.landmarks.find((m) => Math.abs(m.volume_mL - v) < 1e-6);
  switch (near?.kind) {
    case "half":
      return "This is half the equivalence volume.";
    case "twice":
      return "This is twice the equivalence volume.";
    case "equivalence": {
      const u = near.standard_uncertainty_mL;
      return `This is the equivalence point${u > 0 ? `, ${withUncertainty(near.volume_mL, u)} mL with the uncertainties of the setup` : ""}.`;
    }
  }
  return "";
}

// plenty lists the species that there are enough of to show, once for a curve.
const plenty = new WeakMap<Curve, Curve["species"]>();
function enough(c: Curve): Curve["species"] {
  let list = plenty.get(c);
  if (!list) {
    const most = c.species.map((s) => Math.max(...s.mol_per_L)), top = Math.max(...most);
    list = c.species.filter((_, k) => most[k] > 1e-5 * top).slice(0, 9);
    plenty.set(c, list);
  }
  return list;
}

function inFlask(c: Curve, i: number): void {
  const body = byID("inflask").querySelector("tbody")!, list = enough(c);
  refill(body, list.map((s) => s.name).join("\n"), () => list.map((s) => {
    const name = document.createElement("th");
    name.scope = "row";
    name.append(typeset(s.name));
    const row = document.createElement("tr");
    row.append(name, document.createElement("td"));
    return row;
  }));
  list.forEach((s, k) => {
    const amount = figures(s.mol_per_L[i], 3);
    refill(body.rows[k].cells[1], amount, () => [typeset(amount), " mol/L"]);
  });
}

function within(list: Stretch[], v: number): Stretch | undefined {
  return list.find((s) => v <= s.to_mL) ?? list[list.length - 1];
}

// lines numbers the lines of the text and shows the wrong one.
function lines(wrong?: number): void {
  const n = text.value.split("\n").length;
  refill(byID("lines"), `${n} ${wrong}`, () => {
    text.rows = Math.min(40, n + 1);
    return Array.from({ length: n }, (_, i) => i + 1).flatMap((i) => [i === wrong ? element("span", "wrong", `▸${i}`) : String(i), "\n"]);
  });
}

function keepCurve(): void {
  if (!shown.curve) return;
  const name = shown.fields.filter((f) => f.group !== "cell" && !f.choices).map((f) => `${f.label} ${f.value} ${f.unit}`).join(", ");
  curve.kept.push({ name, curve: shown.curve });
  keptList();
}

function keptList(): void {
  const list = byID("kept");
  list.hidden = curve.kept.length === 0;
  list.replaceChildren(...curve.kept.map((k, i) => {
    const drop = element("button", "quiet", "remove") as HTMLButtonElement;
    drop.type = "button";
    drop.addEventListener("click", () => {
      curve.kept.splice(i, 1);
      keptList();
    });
    const line = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    line.setAttribute("viewBox", "0 0 36 8");
    line.setAttribute("aria-hidden", "true");
    line.innerHTML = `<path d="M0 4H36" fill="none" stroke="currentColor" stroke-width="1.5" stroke-dasharray="${dashes[i % dashes.length]}"/>`;
    const item = element("li", "", line);
    item.append(typeset(k.name), " ", drop);
    return item;
  }));
  if (shown.curve) curve.show(shown.curve);
}

// A record is kept of the text as it stands.
document.getElementById("record-form")?.addEventListener("submit", () => {
  byID<HTMLInputElement>("record-setup").value = text.value;
});

curve.onMove = stands;
advice.onIndicator = (x) => {
  curve.indicator = x;
  if (shown.curve) curve.show(shown.curve);
};
show(shown);

let later = 0;
text.addEventListener("input", () => {
  lines();
  clearTimeout(later);
  later = setTimeout(() => {
    changes = [];
    void ask();
  }, 150);
});
text.addEventListener("scroll", () => (byID("lines").scrollTop = text.scrollTop));
text.addEventListener("blur", () => void ask());
at.addEventListener("input", () => {
  const v = number(at.value);
  if (Number.isNaN(v) || v < 0) {
    at.setAttribute("aria-invalid", "true");
    return;
  }
  at.removeAttribute("aria-invalid");
  exact = v;
  void ask().then(() => curve.to(v));
});
for (const name of ["slope", "shares"] as const) {
  const box = byID<HTMLInputElement>(`show-${name}`);
  box.addEventListener("change", () => {
    curve[name] = box.checked;
    byID("curve").classList.toggle(name, box.checked);
    if (shown.curve) {
      shareChoices(shown.curve);
      curve.resized();
      if (!shown.curve[name]) void ask();
    }
  });
}
byID("share-of").addEventListener("change", () => {
  curve.shareOf = byID<HTMLSelectElement>("share-of").value;
  if (shown.curve) curve.show(shown.curve);
});
byID("keep").addEventListener("click", keepCurve);
byID("example").addEventListener("change", (e) => (e.target as HTMLSelectElement).form!.submit());
byID("copy").addEventListener("click", async () => {
  const button = byID("copy");
  try {
    await navigator.clipboard.writeText(text.value);
    button.textContent = "Copied";
  } catch {
    text.select();
    button.textContent = "Press Ctrl+C to copy";
  }
});
