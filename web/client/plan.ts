// The Plan page: fields and text of a setup in step, the curve that follows,
// and what the meniscus says. The server computes; this shows.

import type { Curve, Field, Prediction, Stretch } from "./answer";
import { BuretteCurve, dashes, readingText, volumeText, withUncertainty } from "./curve";
import { Advice } from "./feasibility";
import { figures, number, typeset } from "./formula";

function byID<T extends HTMLElement>(id: string): T {
  return document.getElementById(id) as T;
}

function element(name: string, className: string, ...inside: (Node | string)[]): HTMLElement {
  const e = document.createElement(name);
  if (className) e.className = className;
  e.append(...inside);
  return e;
}

const text = byID<HTMLTextAreaElement>("setup");
const at = byID<HTMLInputElement>("at");
const curve = new BuretteCurve(byID("curve"));
const advice = new Advice();
let shown: Prediction = JSON.parse(byID("data").textContent!);
let changes: { place: string[]; value: string }[] = [];
let exact: number | undefined;
let busy = false, again = false;

// ask sends what changed. While an answer is awaited later changes gather, so
// that a fast hand never waits behind its own requests.
async function ask(): Promise<void> {
  if (busy) {
    again = true;
    return;
  }
  busy = true;
  const sent = changes, from = text.value;
  changes = [];
  try {
    const r = await fetch("/api/predict", {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify({ setup: from, changes: sent, at_mL: exact }),
    });
    if (!r.ok) throw new Error(r.status === 413 ? "The setup is too long to be sent." : `The bench answered with status ${r.status}.`);
    const p: Prediction = await r.json();
    if (text.value === from) show(p);
    else again = true;
  } catch (e) {
    problem({ message: e instanceof TypeError ? "The bench does not answer. Is meniscus serve still running? What you typed is kept here." : String((e as Error).message) });
  }
  busy = false;
  if (again) {
    again = false;
    void ask();
  }
}

function show(p: Prediction): void {
  const wrong = p.problem !== undefined;
  if (text.value !== p.setup && document.activeElement !== text) text.value = p.setup;
  shown = wrong && !p.curve ? { ...p, curve: shown.curve, fields: p.fields.length ? p.fields : shown.fields } : p;
  if (p.title) {
    byID("title").replaceChildren(typeset(p.title));
    document.title = `${p.title} · meniscus`;
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
  const select = byID<HTMLSelectElement>("share-of"), list = (c.shares ?? []).map((g) => g.of);
  if ([...select.options].map((o) => o.value).join() !== list.join()) select.replaceChildren(...list.map((of) => new Option(of, of, false, of === curve.shareOf)));
  curve.shareOf = select.value;
  byID("share-label").hidden = !curve.shares || list.length < 2;
}

function problem(p: Prediction["problem"]): void {
  const box = byID("problem");
  box.replaceChildren();
  text.toggleAttribute("aria-invalid", false);
  if (!p) return;
  text.setAttribute("aria-invalid", "true");
  const where = p.line ? `Line ${p.line}${p.column ? `, column ${p.column}` : ""}: ` : "";
  const said = element("p", "", where);
  said.append(typeset(p.message));
  box.append(said);
  if (p.excerpt) box.append(element("pre", "", p.excerpt));
}

function doubts(p: Prediction): void {
  const box = byID("doubts");
  box.replaceChildren();
  const add = (className: string, s: string) => {
    const e = element("p", className);
    e.append(typeset(s));
    box.append(e);
  };
  p.warnings.forEach((w) => add("doubt", w));
  p.notes.forEach((n) => add("note", n));
}

// fields keeps the inputs that are there, so that the hand does not lose the
// one it holds.
const groups: Record<Field["group"], string> = { flask: "In the flask", burette: "In the burette", cell: "Electrode" };
const inputs = new Map<string, (f: Field) => void>();

function fields(list: Field[]): void {
  const box = byID("fields");
  const keys = list.map((f) => f.place.join("/"));
  if (keys.length === inputs.size && keys.every((k) => inputs.has(k))) {
    list.forEach((f, i) => inputs.get(keys[i])!(f));
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
  changes = changes.filter((c) => c.place.join("/") !== place.join("/"));
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
    if (document.activeElement !== entry) entry.value = g.value;
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
    slider.setAttribute("aria-valuetext", `${g.value} ${g.unit}`);
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
    select.replaceChildren(...g.choices!.map((c) => new Option(c, c, false, c === g.value)));
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
  const v = c.volume_mL[i], y = c.reading[i];
  if (document.activeElement !== at) at.value = volumeText(v);
  const reads = byID("reads"), says = byID("says");
  reads.replaceChildren(y === null ? "the reading is undefined" : typeset(readingText(c, y)));
  if (c.unit === "mV" && c.pH && c.pH[i] !== null) reads.append(`, pH ${c.pH[i]!.toFixed(2)}`);
  says.replaceChildren();
  if (c.unit === "mV" && y !== null) says.append(`Measured against ${c.reference}${c.reading_uncertainty ? `, whose potential and junction leave ± ${figures(c.reading_uncertainty, 1)} mV` : ""}. `);
  const grip = within(c.governs, v);
  if (grip) says.append(typeset(grip.words), grip.words.startsWith("nothing") ? ". " : grip.words.includes(" with ") ? " hold it together. " : " governs. ");
  const colour = within(c.colours, v);
  if (colour) {
    const swatch = element("span", "swatch");
    swatch.style.backgroundColor = colour.swatch ?? "";
    says.append(swatch, `The solution is ${colour.words}. `);
  }
  const near = c.landmarks.find((m) => Math.abs(m.volume_mL - v) < 1e-6);
  if (near) says.append(near.kind === "equivalence" ? "This is the equivalence point" : near.kind === "half" ? "This is half the equivalence volume" : "This is twice the equivalence volume");
  if (near?.kind === "equivalence" && near.standard_uncertainty_mL > 0) says.append(`, ${withUncertainty(near.volume_mL, near.standard_uncertainty_mL)} mL with the uncertainties of the setup`);
  if (near) says.append(".");
  inFlask(c, i);
}

function inFlask(c: Curve, i: number): void {
  const body = byID("inflask").querySelector("tbody")!;
  const most = Math.max(...c.species.map((s) => Math.max(...s.mol_per_L)));
  const rows = c.species.filter((s) => Math.max(...s.mol_per_L) > 1e-5 * most).slice(0, 9);
  body.replaceChildren(...rows.map((s) => {
    const name = document.createElement("th");
    name.scope = "row";
    name.append(typeset(s.name));
    const value = document.createElement("td");
    value.append(typeset(figures(s.mol_per_L[i], 3)), " mol/L");
    const row = document.createElement("tr");
    row.append(name, value);
    return row;
  }));
}

function within(list: Stretch[], v: number): Stretch | undefined {
  return list.find((s) => v <= s.to_mL) ?? list[list.length - 1];
}

// lines numbers the lines of the text and shows the wrong one.
function lines(wrong?: number): void {
  const n = text.value.split("\n").length, box = byID("lines");
  text.rows = Math.min(40, n + 1);
  box.replaceChildren();
  for (let i = 1; i <= n; i++) box.append(i === wrong ? element("span", "wrong", `▸${i}`) : String(i), "\n");
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
      curve.show(shown.curve);
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
