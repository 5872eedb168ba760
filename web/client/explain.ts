// The Explain page: the working for the volume where the meniscus stands, the
// flask with its colour, and for a room one equation at a time.

import type { Curve, Prediction, Problem, Stretch } from "./answer";
import { BuretteCurve, readingText, volumeText } from "./curve";
import { figures, typeset } from "./formula";

interface Explanation {
  here: string;
  always: string;
  main: number;
  problem?: Problem;
}

const byID = (id: string): HTMLElement => document.getElementById(id)!;
const shown: Prediction = JSON.parse(byID("data").textContent!);
const curve = new BuretteCurve(byID("curve"));
const ns = "http://www.w3.org/2000/svg";

// The flask is drawn once; its liquid takes the colour of the solution.
function svg(name: string, attributes: Record<string, string | number>): SVGElement {
  const e = document.createElementNS(ns, name);
  for (const [k, v] of Object.entries(attributes)) e.setAttribute(k, String(v));
  return e;
}
const content = svg("path", { class: "content", fill: "none" });
const vessel = svg("svg", { class: "vessel", viewBox: "0 0 100 110", role: "img" });
vessel.append(content, svg("path", { class: "wall", d: "M36 6H64M40 6V42L10 98Q8 106 16 106H84Q92 106 90 98L60 42V6" }));
byID("vessel").append(vessel);

function within(list: Stretch[], v: number): Stretch | undefined {
  return list.find((s) => v >= s.from_mL && v <= s.to_mL);
}

function fill(c: Curve, v: number): void {
  const colour = within(c.colours, v), last = c.volume_mL[c.volume_mL.length - 1];
  const top = 82 - (28 * v) / last, edge = (98 - top) * (30 / 56);
  content.setAttribute("d", `M${10 + edge} ${top}L10 98Q8 106 16 106H84Q92 106 90 98L${90 - edge} ${top}Z`);
  content.setAttribute("fill", colour?.swatch ?? "none");
  content.classList.toggle("clear", colour?.words === "colourless");
  vessel.setAttribute("aria-label", colour ? `The solution is ${colour.words}.` : "The colour of the solution is not known.");
}

// bars shows the species that take part, always in the same place, on one scale:
// those that what is titrated and the titrant are shared among. A buffer, held
// constant in plenty, would dwarf them.
const matter = (() => {
  const c = shown.curve;
  if (!c) return [];
  const names = [...new Set((c.shares ?? []).flatMap((g) => g.shares.map((s) => s.name)))];
  const most = (list: { most: number }[]): number => Math.max(...list.map((a) => a.most));
  const all = c.species.map((s) => ({ s, most: Math.max(...s.mol_per_L) }));
  let list = names.map((n) => all.find((a) => a.s.name === n)).filter((a) => a !== undefined);
  if (list.length < 2) list = all.filter((a) => !["H2O", "H₂O"].includes(a.s.name)).sort((a, b) => b.most - a.most);
  const first = (c.shares ?? [])[0]?.shares.map((s) => s.name) ?? [];
  const ours = list.filter((a) => first.includes(a.s.name));
  // What holds nearly all of its element all along, such as sodium, looks on.
  const looksOn = (name: string): boolean => (c.shares ?? []).some((g) => g.shares.some((s) => s.name === name && s.share.every((x) => x === 0 || x > 0.8)));
  list = list.filter((a) => first.includes(a.s.name) || !looksOn(a.s.name));
  const limit = 3 * most(ours.length > 0 ? ours : list);
  list = list.filter((a) => a.most <= limit);
  const scale = most(list);
  return list.filter((a) => a.most > 0.02 * scale).slice(0, 6).map((a) => ({ ...a.s, scale }));
})();

function bars(i: number): void {
  byID("amounts").replaceChildren(...matter.map((s) => {
    const tr = document.createElement("tr"), th = document.createElement("th"), td = document.createElement("td");
    th.scope = "row";
    th.append(typeset(s.name), s.solid && !s.name.endsWith("(s)") ? " (s)" : "");
    const bar = svg("svg", { viewBox: "0 0 100 10", preserveAspectRatio: "none", role: "img", "aria-label": `${figures(s.mol_per_L[i], 3)} mol/L` });
    bar.append(svg("line", { x1: 0, x2: 100, y1: 10, y2: 10 }), svg("rect", { x: 0, y: 0, height: 10, width: (100 * s.mol_per_L[i]) / s.scale }));
    td.append(bar);
    tr.append(th, td);
    return tr;
  }));
}

function stands(i: number): void {
  const c = shown.curve!, v = c.volume_mL[i], y = c.reading[i];
  byID("reads").replaceChildren(y === null ? "undefined" : typeset(readingText(c, y)));
  const says = byID("says"), grip = within(c.governs, v), colour = within(c.colours, v);
  says.replaceChildren();
  const near = c.landmarks.find((m) => Math.abs(m.volume_mL - v) < 1e-6);
  byID("added").textContent = `At ${near ? v.toFixed(2) : volumeText(v)} mL`;
  if (near) says.append(near.kind === "equivalence" ? "This is the equivalence point. " : near.kind === "half" ? "This is half the equivalence volume. " : "This is twice the equivalence volume. ");
  if (grip) says.append(typeset(grip.words), grip.words.startsWith("nothing") ? ". " : grip.words.includes(" with ") ? " hold it together. " : " governs. ");
  if (colour) says.append(`The solution is ${colour.words}.`);
  fill(c, v);
  bars(i);
  tell();
  wanted = v;
  byID("working").classList.toggle("stale", v !== at);
  clearTimeout(later);
  later = window.setTimeout(() => void ask(), Number.isNaN(at) ? 0 : 120);
}

// tell says to a screen reader where the meniscus has come to rest; the slider
// says it by itself.
let resting = 0;
function tell(): void {
  clearTimeout(resting);
  resting = window.setTimeout(() => {
    const slid = document.activeElement?.getAttribute("role") === "slider";
    byID("told").textContent = slid || Number.isNaN(at) ? "" : [byID("added"), byID("reads"), byID("says")].map((e) => e.textContent).join(" ");
  }, 700);
}

// ask fetches the working for the volume wanted last.
let later = 0, wanted = 0, busy = false, at = NaN, now = -1;
async function ask(): Promise<void> {
  if (busy || at === wanted) return byID("working").classList.toggle("stale", busy), undefined;
  busy = true;
  const volume = wanted;
  try {
    const r = await fetch("/api/explain", {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify({ setup: shown.setup, at_mL: volume }),
    });
    if (!r.ok) throw new Error(`The bench answered with status ${r.status}.`);
    show(await r.json(), volume);
  } catch (e) {
    problem(e instanceof TypeError ? "The bench does not answer. Is meniscus serve still running?" : String((e as Error).message));
  }
  busy = false;
  at = volume;
  byID("working").classList.toggle("stale", wanted !== volume);
  if (wanted !== volume) void ask();
}

function problem(message: string): void {
  const p = document.createElement("p");
  p.append(typeset(message));
  byID("problem").replaceChildren(...(message ? [p] : []));
}

// The fragments come from this server, which escapes every text in them.
function show(e: Explanation, volume: number): void {
  problem(e.problem?.message ?? "");
  byID("working").innerHTML = e.here;
  byID("working").dataset.volume = volume.toFixed(4);
  dispatchEvent(new Event("worked"));
  if (byID("always").innerHTML === "") byID("always").innerHTML = e.always;
  equation(e.main >= 0 ? e.main : steps().length - 1);
}

const steps = (): Element[] => [...byID("working").querySelectorAll(".step")];

// equation puts one step before a room.
function equation(n: number): void {
  const list = steps();
  now = Math.max(0, Math.min(list.length - 1, n));
  list.forEach((s, i) => s.classList.toggle("now", i === now));
}

// stops are where a lecture halts: the special points and some between them.
function stops(special: boolean): number[] {
  const c = shown.curve!, last = c.volume_mL[c.volume_mL.length - 1];
  const list = [0, ...c.landmarks.map((m) => m.volume_mL)];
  const ends = c.landmarks.filter((m) => m.kind === "equivalence").map((m) => m.volume_mL);
  if (!special) {
    let from = 0;
    for (const e of ends) {
      for (const part of [0.1, 0.25, 0.75, 0.9, 0.99]) list.push(from + part * (e - from));
      from = e;
    }
    if (from > 0) list.push(from * 1.01, from * 1.1, from * 1.5);
  }
  if (ends.length !== 1) list.push(last);
  return list.filter((v) => v <= last).sort((a, b) => a - b);
}

function go(step: number, special: boolean): void {
  const here = curve.volume(), list = stops(special);
  const next = step > 0 ? list.find((v) => v > here + 1e-3) : list.reverse().find((v) => v < here - 1e-3);
  if (next !== undefined) curve.to(next);
}

if (shown.curve) {
  curve.onMove = stands;
  curve.show(shown.curve);
  byID("before").addEventListener("click", () => go(-1, true));
  byID("after").addEventListener("click", () => go(1, true));
  addEventListener("keydown", (e) => {
    const room = document.documentElement.dataset.view === "projector";
    const target = e.target as Element;
    if (e.altKey || e.ctrlKey || e.metaKey || target.closest("select, input, textarea")) return;
    if (!room && target.closest("[role=slider]")) return;
    const keys: Record<string, () => void> = {
      ArrowRight: () => go(1, !room), ArrowLeft: () => go(-1, !room), PageDown: () => go(1, true), PageUp: () => go(-1, true),
      ArrowDown: () => equation(now + 1), ArrowUp: () => equation(now - 1),
      Home: () => curve.to(0), End: () => curve.to(shown.curve!.volume_mL.at(-1)!),
    };
    if (!keys[e.key] || (!room && e.key !== "ArrowLeft" && e.key !== "ArrowRight")) return;
    e.preventDefault();
    e.stopPropagation();
    keys[e.key]();
  }, true);
}
document.getElementById("example")?.addEventListener("change", (e) => (e.target as HTMLSelectElement).form!.submit());
