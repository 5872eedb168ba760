// The Read page: what is typed goes to the curve at once and to the bench's
// disk in turn; the tick comes with the answer. The bench keeps and asks; this
// shows. What has no answer yet is kept in the browser too, under the record.

import { byID, element } from "./element";
import type { Curve } from "./answer";
import { BuretteCurve } from "./curve";
import { number, typeset } from "./formula";

interface Row {
  no: number;
  volume: string;
  value: string;
  time: string;
  temperature: string;
  state: string;
  why: string;
  author: string;
  added_mL: number | null;
  reading: number | null;
  asks: string[];
}

interface Run {
  record: string;
  run: number;
  unit: string;
  last: number;
  begun: string;
  now: string;
  rows: Row[];
  earlier: number;
  before: { added_mL: number; reading: number; left_out: boolean }[];
  drift?: string;
}

// An Entry waits for its answer. after is the newest row known when it was
// sent first: a later row with the same texts is this one.
interface Entry {
  volume?: string;
  value?: string;
  time?: string;
  temperature?: string;
  state?: string;
  why?: string;
  replaces?: number;
  after?: number;
}

const start = JSON.parse(byID("data").textContent!) as { state: Run; curve: Curve | null; confirmed: string };
let run = start.state;
const skew = Date.parse(run.now) - Date.now();
const volume = byID<HTMLInputElement>("volume"), value = byID<HTMLInputElement>("value"), temperature = byID<HTMLInputElement>("temperature");
const author = byID<HTMLInputElement>("author"), timed = byID<HTMLInputElement>("timed"), warm = byID<HTMLInputElement>("warm");
const curve = new BuretteCurve(byID("curve"));
const phone = matchMedia("(max-width: 46rem)");
let entered = false; // somebody has touched the page
addEventListener("pointerdown", () => (entered = true), { capture: true, once: true });
addEventListener("keydown", () => (entered = true), { capture: true, once: true });
const place = (of = run.run) => `waiting/${run.record}/${of}`;
let waiting: Entry[] = [];
let reason = "", sending = false, editing = 0, others = false;

function stored(key: string): string | null {
  try {
    return localStorage.getItem(key);
  } catch {
    return null; // storage is off; the page itself still holds what waits
  }
}

function store(key: string, text: string): void {
  try {
    if (text) localStorage.setItem(key, text);
    else localStorage.removeItem(key);
  } catch {
    // as above
  }
}

function remember(): void {
  store(place(), waiting.length ? JSON.stringify(waiting) : "");
}

function button(word: string, act: () => void, className = "quiet"): HTMLElement {
  const b = element("button", className, word) as HTMLButtonElement;
  b.type = "button";
  b.addEventListener("click", act);
  return b;
}

const scale = () => (run.unit === "V" ? 1000 : 1);

function points(): void {
  curve.readings = run.before.map((p) => ({ volume: p.added_mL, reading: p.reading, out: p.left_out }));
  curve.readings.push(...run.rows.flatMap((r) => (r.added_mL === null || r.reading === null ? [] : [{ volume: r.added_mL, reading: r.reading, out: r.state === "left out" }])));
  for (const e of waiting) {
    const v = number(e.volume ?? ""), y = number(e.value ?? "") * scale();
    if (!e.replaces && !Number.isNaN(v + y)) curve.readings.push({ volume: v, reading: y, out: false });
  }
  const measured = run.unit === "V" ? "mV" : run.unit;
  const fits = start.curve && (start.curve.unit || start.curve.symbol) === measured;
  const blank: Curve = {
    axis: measured === "mV" ? "potential / mV" : measured, symbol: measured, unit: measured === "mV" ? "mV" : "", reference: "", titrant: "titrant",
    volume_mL: [0, Math.max(10, ...curve.readings.map((p) => p.volume))], reading: [null, null], species: [], shares: null, landmarks: [], colours: [], governs: [],
    undefined: "The curve forms as you read.",
  };
  const last = curve.readings.at(-1)?.volume ?? 0;
  curve.show(fits ? upTo(start.curve!, last) : blank);
  curve.to(last);
}

// upTo lengthens a predicted curve that ends before the burette stands.
function upTo(c: Curve, v: number): Curve {
  if (!(v > c.volume_mL[c.volume_mL.length - 1])) return c;
  return { ...c, volume_mL: [...c.volume_mL, v], reading: [...c.reading, null], slope: [...c.slope, null], undefined: "beyond the predicted curve" };
}

function show(): void {
  points();
  const body = byID("rows").querySelector("tbody")!;
  const out: HTMLElement[] = [];
  waiting.forEach((e, i) => {
    if (e.replaces) return;
    const tr = element("tr", "waiting", element("td", "", e.volume ?? ""), element("td", "", e.value ?? ""), element("td", "tick", i === 0 && reason ? "!" : "…"));
    tr.append(element("td", "", i === 0 && reason ? "not kept yet" : ""));
    out.unshift(tr);
  });
  for (const r of run.rows) out.unshift(...line(r));
  const mine = out.filter((e) => e.classList.contains("waiting"));
  body.replaceChildren(...mine, ...out.filter((e) => !e.classList.contains("waiting")));
  byID("first").hidden = out.length > 0;
  byID("all").hidden = byID("rows").classList.contains("all") || run.rows.length <= 12;
  byID("all").textContent = `All ${run.rows.length} readings`;
  byID("undo").hidden = run.rows.length === 0;
  const count = document.querySelector(".tabs [aria-current] .n");
  if (count) count.textContent = String(run.earlier + run.rows.length);
  trouble();
  asks();
  byID("drift").replaceChildren(typeset(run.drift ?? ""));
  document.documentElement.dataset.last = String(run.last);
}

function line(r: Row): HTMLElement[] {
  const name = `${r.volume} mL, ${r.value}`;
  const tick = element("td", "tick", "✓", element("span", "hidden", " safe on disk"));
  const act = element("td", "act");
  const change = button("change", () => edit(r.no));
  change.setAttribute("aria-label", `change the reading ${name}`);
  change.dataset.no = String(r.no);
  act.append(change);
  const tr = element("tr", r.state === "left out" ? "out" : "", element("td", "", r.volume), element("td", "", r.value), tick, act);
  const list = [tr];
  if (r.state === "left out") list.push(element("tr", "remark", remark(`left out: ${r.why}, ${r.author}`)));
  if (editing === r.no) list.push(element("tr", "editing", editor(r)));
  return list;
}

function remark(text: string): HTMLElement {
  const td = element("td", "", text) as HTMLTableCellElement;
  td.colSpan = 4;
  return td;
}

function edit(no: number): void {
  editing = editing === no ? 0 : no;
  show();
  byID("edit-volume")?.focus();
}

// editor changes, leaves out or takes in one reading, with a reason.
function editor(r: Row): HTMLElement {
  const cell = remark("");
  const field = (id: string, word: string, text: string) => {
    const l = element("label", "", word) as HTMLLabelElement, i = element("input", "") as HTMLInputElement;
    l.htmlFor = i.id = id;
    i.value = text;
    if (id === "edit-volume") i.inputMode = "decimal";
    cell.append(l, i);
    return i;
  };
  const v = field("edit-volume", "mL", r.volume), y = field("edit-value", run.unit, r.value), why = field("edit-why", "reason", "");
  const act = (state: string, texts: boolean) => {
    if (!why.value.trim()) {
      why.setAttribute("aria-invalid", "true");
      why.placeholder = "say why";
      why.focus();
      return;
    }
    editing = 0;
    // A row without texts takes over those it replaces.
    send(texts ? { volume: v.value.trim(), value: y.value.trim(), time: r.time, temperature: r.temperature, state, why: why.value.trim(), replaces: r.no } : { state, why: why.value.trim(), replaces: r.no });
    volume.focus();
  };
  const save = button("Save", () => act(r.state, true), "");
  const leave = r.state === "left out" ? button("Take in again", () => act("kept", false), "") : button("Leave out", () => act("left out", false), "");
  cell.append(element("span", "actions", save, leave, button("Leave it", () => edit(r.no))));
  cell.addEventListener("keydown", (e) => {
    if (e.key === "Enter" && e.target instanceof HTMLInputElement) {
      e.preventDefault();
      act(r.state, true);
    }
    if (e.key === "Escape") edit(r.no);
  });
  return cell;
}

// asks lists what looks doubtful, the newest first. Typing goes on meanwhile.
function asks(): void {
  const list = run.rows.filter((r) => r.asks.length > 0).reverse();
  byID("asks").replaceChildren(...list.slice(0, 6).map((r) => {
    const p = element("div", "ask");
    for (const a of r.asks) p.append(element("p", "doubt", `${r.volume} mL: ${a}`));
    p.append(element("p", "actions", button("It is right", () => send({ state: "kept", why: start.confirmed, replaces: r.no }), ""), button("Change", () => edit(r.no), "")));
    return p;
  }), ...(list.length > 6 ? [element("p", "", `and ${list.length - 6} more`)] : []));
}

function trouble(): void {
  const box = byID("problem");
  box.replaceChildren(reason);
  if (!reason) return;
  box.append(" ", button(others ? "Keep mine too" : "Try again", () => {
    if (others) waiting.forEach((e) => (e.after = run.last));
    others = false;
    void flush();
  }, ""));
  if (others) box.append(" ", button("Drop mine", () => {
    waiting = [];
    reason = "";
    others = false;
    remember();
    show();
  }, ""));
}

function send(e: Entry): void {
  waiting.push({ ...e, after: waiting.length ? undefined : run.last });
  remember();
  show();
  if (!others) void flush();
}

// known takes in what the bench has, and lets go of what is there already: the
// answer to it was lost.
function known(now: Run, from: number): boolean {
  const e = waiting[0];
  if (!e) return false;
  const same = (r: Row) => r.no > from && (e.replaces ? r.why === (e.why ?? "") && (e.volume === undefined || r.volume === e.volume) : r.volume === e.volume && r.value === e.value && r.time === (e.time ?? ""));
  const mine = now.rows.some(same) || (e.state === "withdrawn" && !now.rows.some((r) => r.no === e.replaces));
  run = now;
  if (mine) {
    waiting.shift();
    remember();
  }
  return mine;
}

async function flush(): Promise<void> {
  if (sending) return;
  sending = true;
  while (waiting.length) {
    const e = waiting[0], after = (e.after ??= run.last), key = place();
    const { after: _, ...reading } = e;
    try {
      const r = await fetch(`/api/records/${run.record}/runs/${run.run}/readings`, {
        method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ author: author.value.trim(), last: after, readings: [reading] }),
      });
      if (r.status === 401) {
        reason = "Not kept yet: the bench asks for its password again. Log in on another tab; what you typed is held here.";
        later();
        break;
      }
      const said = await r.json();
      if (r.ok) {
        store(key, ""); // a first reading has begun its run, which has a place of its own
        run = said as Run;
        waiting.shift();
        reason = "";
        remember();
        show();
        continue;
      }
      if (r.status === 409 && said.current) {
        if (known(said.current as Run, after)) {
          reason = "";
          show();
          continue;
        }
        others = true;
        reason = "Not kept: the run was changed meanwhile, by another page or person. The readings are as they stand now; what you typed is still here.";
      } else {
        reason = said.detail ?? `Not kept: the bench answered with status ${r.status}.`;
        if (r.status >= 500) later(); // a disk gets room again, a lock is let go
      }
    } catch (err) {
      reason = "Not kept yet: the bench does not answer. What you typed is held here.";
      later();
    }
    break;
  }
  sending = false;
  show();
  if (!waiting.length) void next();
}

// later tries again what has no answer yet.
function later(): void {
  setTimeout(() => void flush(), 4000);
}

function sentence(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1) + ".";
}

let asked = -1;
async function next(): Promise<void> {
  if (!run.run || asked === run.last) return;
  asked = run.last;
  const box = byID("next");
  box.classList.add("stale");
  try {
    const r = await fetch(`/api/records/${run.record}/runs/${run.run}/next`);
    if (!r.ok) return;
    const n = await r.json();
    if (n.last !== run.last) return;
    box.replaceChildren();
    const more: HTMLElement[] = [n.do ? n.why : n.refusal, ...n.known, ...n.warnings].map((text: string) => {
      const p = element("p", "known");
      p.append(typeset(sentence(text)));
      return p;
    });
    box.append(element("strong", "", n.do || "No next addition."));
    if (below()) {
      const d = element("details", "", element("summary", "", "Why"), ...more);
      box.append(d);
    } else box.append(...more);
  } catch {
    asked = -1; // asked again with the next reading
  } finally {
    box.classList.remove("stale");
  }
}

byID<HTMLFormElement>("entry").noValidate = true; // it says itself what is missing
byID<HTMLFormElement>("entry").addEventListener("submit", (e) => {
  e.preventDefault();
  if (!author.value.trim()) {
    byID("problem").textContent = "Your name first, since each reading says who took it. What you typed still stands; Enter keeps it then.";
    return author.focus();
  }
  if (!volume.value.trim() || (!value.value.trim() && document.activeElement === volume)) return (volume.value.trim() ? value : volume).focus();
  const entry: Entry = { volume: volume.value.trim(), value: value.value.trim() };
  if (timed.checked) entry.time = String(Math.max(0, Math.round((Date.now() + skew - Date.parse(run.begun)) / 1000)));
  if (temperature.value.trim() && warm.checked) entry.temperature = temperature.value.trim();
  volume.value = value.value = "";
  volume.focus();
  send(entry);
});
byID("undo").addEventListener("click", () => {
  const last = run.rows.at(-1);
  if (last) send({ replaces: last.no, state: "withdrawn", why: "undone: a slip" });
  volume.focus();
});
warm.addEventListener("change", () => document.querySelectorAll<HTMLElement>(".warm").forEach((e) => (e.hidden = !warm.checked)));
document.querySelector<HTMLElement>(".switches")!.hidden = false;

// A name that is known needs no field of its own.
function named(): void {
  const name = author.value.trim();
  document.querySelectorAll<HTMLInputElement>(".as-author").forEach((e) => (e.value = name));
  byID("as-name").textContent = name;
  byID("who").hidden = name !== "";
  byID("as").hidden = name === "";
  if (name) store("name", name);
}
author.value ||= stored("name") ?? "";
author.addEventListener("change", named);
byID("as-change").addEventListener("click", () => {
  byID("who").hidden = false;
  byID("as").hidden = true;
  author.select();
});
named();

// The number pads of some phones have no minus sign. The field keeps the
// cursor, so that the pad stays.
document.querySelectorAll<HTMLElement>(".sign").forEach((b) => {
  const field = byID<HTMLInputElement>(b.dataset.for!);
  b.hidden = false;
  b.addEventListener("pointerdown", (e) => e.preventDefault());
  b.addEventListener("click", () => {
    field.value = /^\s*[-−]/.test(field.value) ? field.value.replace(/[-−]/, "") : "-" + field.value.trim();
    field.focus();
  });
});
byID("all").addEventListener("click", () => {
  byID("rows").classList.add("all");
  byID("all").hidden = true;
});
for (const id of ["volume", "value"]) {
  byID(id).addEventListener("focus", () => {
    // Before the pad opens: what is needed while typing goes to the top.
    if (phone.matches && entered) byID("bench").scrollIntoView({ block: "start" });
  });
}
document.querySelector<HTMLElement>(".tabs .other")!.addEventListener("click", () => {
  byID<HTMLDetailsElement>("other-run").open = true;
  byID("run-name").focus();
});

// A table on the clipboard is a run, not a number.
volume.addEventListener("paste", (e) => {
  const text = e.clipboardData?.getData("text") ?? "";
  if (!/\S[\t;]\S|\n\s*\S/.test(text.trim())) return;
  e.preventDefault();
  const box = byID<HTMLTextAreaElement>("pasted");
  box.closest("details")!.open = true;
  box.value = text;
  box.scrollIntoView({ block: "center" });
  box.focus();
});
addEventListener("dragover", (e) => e.preventDefault());
addEventListener("drop", (e) => {
  e.preventDefault();
  if (!e.dataTransfer?.files.length) return;
  const input = byID<HTMLInputElement>("file");
  input.files = e.dataTransfer.files;
  byID<HTMLFormElement>("file-form").requestSubmit();
});

// Where there is no margin beside, what stands in it comes below the entry.
const narrow = matchMedia("(max-width: 60rem)");
function below(): boolean {
  return narrow.matches || document.documentElement.dataset.view === "projector";
}
function placeBeside(): void {
  if (below()) byID("entry").after(byID("beside"));
  else document.querySelector(".margin")!.prepend(byID("beside"));
}
narrow.addEventListener("change", placeBeside);
addEventListener("resize", placeBeside);
placeBeside();

// What waited when a page of this run was closed. A first reading waited under
// the run to be, number 0; its answer may be lost and the run be there.
const first = document.querySelector(".tabs a")?.hasAttribute("aria-current");
for (const key of first && run.run !== 0 ? [place(0), place()] : [place()]) {
  try {
    waiting.push(...(JSON.parse(stored(key) ?? "[]") as Entry[]));
  } catch {
    // not written by this page
  }
  if (key !== place()) store(key, "");
}
remember();
if (waiting.length && waiting[0].after !== undefined && waiting[0].after < run.last) {
  if (!known(run, waiting[0].after)) {
    others = true;
    reason = "Not kept before the page was closed, and the run was changed meanwhile. What you typed is still here.";
  }
}
show();
if (waiting.length && !others) void flush();
else void next();
