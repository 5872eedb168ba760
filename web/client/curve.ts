// The curve with the burette along it: an SVG that fills its element. The
// volume axis is a graduated tube; a meniscus slides on it and says where it
// stands. It draws what it is given and computes nothing.

import type { Column, Curve, Indicator } from "./answer";
import { make, part, pixel, redraw, set, type Attributes, type Part } from "./drawing";
import { figures, minus } from "./formula";

export interface Kept {
  name: string;
  curve: Curve;
}

// A Point is a reading: an open circle, crossed where it is left out.
export interface Point {
  volume: number;
  reading: number;
  out: boolean;
}

interface Panel {
  top: number;
  bottom: number;
  low: number;
  high: number;
}

// dashes tell lines apart without colour.
export const dashes = ["6 4", "2 3", "9 3 2 3", "12 4", "1 2", "5 2 1 2 1 2"];

export class BuretteCurve {
  slope = false;
  shares = false;
  shareOf = "";
  kept: Kept[] = [];
  readings: Point[] = [];
  indicator: Indicator | null = null;
  onMove: (index: number) => void = () => {};
  private data: Curve | null = null;
  private svg = make("svg", { role: "group", "aria-label": "Titration curve" }) as SVGSVGElement;
  private below = make("g", {}); // what the liquid covers
  private above = make("g", {});
  private parts: Part[] = [];
  private hair = make("line", { class: "hair" });
  private dot = make("circle", { class: "dot" });
  private liquid = make("path", { class: "liquid" });
  private meniscus = make("path", { class: "meniscus" });
  private handle: SVGElement;
  private grip = make("rect", { fill: "transparent" });
  private halo = make("rect", { class: "halo", rx: 4 });
  private index = 0;
  private end = 1; // of the volume axis
  private width = 0;
  private height = 0;
  private em = 13;
  private left = 0;
  private right = 0;
  private main: Panel = { top: 0, bottom: 1, low: 0, high: 1 };
  private tube = { top: 0, bottom: 0 };

  constructor(private box: HTMLElement) {
    this.handle = make("g", { class: "handle", role: "slider", tabindex: 0, "aria-label": "Volume added" }, this.halo, this.meniscus, this.grip);
    this.svg.append(this.below, this.liquid, this.above, this.hair, this.dot, this.handle);
    box.replaceChildren(this.svg);
    new ResizeObserver(() => this.resized()).observe(box);
    addEventListener("resize", () => this.resized());
    this.svg.addEventListener("pointerdown", (e) => {
      this.svg.setPointerCapture(e.pointerId);
      this.point(e);
      this.handle.focus({ preventScroll: true });
      e.preventDefault();
    });
    this.svg.addEventListener("pointermove", (e) => {
      if (this.svg.hasPointerCapture(e.pointerId)) this.point(e);
    });
    this.handle.addEventListener("keydown", (e) => this.key(e as KeyboardEvent));
  }

  // resized measures the room there is and draws anew. Only this asks for the
  // size: to be asked in the middle of changes a browser lays the page out twice.
  resized(): void {
    const r = this.box.getBoundingClientRect();
    this.em = parseFloat(getComputedStyle(document.documentElement).fontSize) * 0.8125;
    this.width = r.width;
    this.height = r.height;
    if (r.width > 0) set(this.svg, { viewBox: `0 0 ${r.width} ${r.height}`, "font-size": this.em });
    this.draw();
  }

  // show draws a curve and keeps the meniscus at its volume.
  show(data: Curve): void {
    const at = this.data ? this.volume() : NaN;
    this.data = data;
    this.index = Number.isNaN(at) ? this.start() : nearest(data.volume_mL, at);
    if (this.width === 0) this.resized();
    else this.draw();
  }

  // to puts the meniscus at a volume.
  to(volume: number): void {
    if (!this.data) return;
    this.index = nearest(this.data.volume_mL, volume);
    this.place();
  }

  volume(): number {
    return this.data ? this.data.volume_mL[this.index] : NaN;
  }

  private start(): number {
    const d = this.data!;
    const half = d.landmarks.find((m) => m.kind !== "twice");
    return nearest(d.volume_mL, half ? half.volume_mL : d.volume_mL[d.volume_mL.length - 1] / 4);
  }

  private point(e: PointerEvent): void {
    if (!this.data) return;
    const x = e.clientX - this.svg.getBoundingClientRect().left;
    this.index = nearest(this.data.volume_mL, ((x - this.left) / (this.right - this.left)) * this.end);
    this.place();
  }

  private key(e: KeyboardEvent): void {
    if (!this.data) return;
    const d = this.data, last = d.volume_mL.length - 1;
    const mark = (step: number): number => {
      const list = [0, ...d.landmarks.map((m) => m.volume_mL), d.volume_mL[last]];
      const here = d.volume_mL[this.index];
      const next = step > 0 ? list.find((v) => v > here + 1e-9) : list.reverse().find((v) => v < here - 1e-9);
      return next === undefined ? this.index : nearest(d.volume_mL, next);
    };
    const moves: Record<string, number> = {
      ArrowRight: this.index + (e.shiftKey ? 10 : 1), ArrowUp: this.index + (e.shiftKey ? 10 : 1),
      ArrowLeft: this.index - (e.shiftKey ? 10 : 1), ArrowDown: this.index - (e.shiftKey ? 10 : 1),
      Home: 0, End: last,
    };
    let to = moves[e.key];
    if (e.key === "PageUp") to = mark(1);
    if (e.key === "PageDown") to = mark(-1);
    if (to === undefined) return;
    e.preventDefault();
    this.index = Math.min(last, Math.max(0, to));
    this.place();
  }

  // span is how far the volumes go.
  private span(): number {
    const d = this.data!;
    let last = d.volume_mL[d.volume_mL.length - 1];
    for (const p of this.readings) last = Math.max(last, p.volume);
    for (const k of this.kept) last = Math.max(last, k.curve.volume_mL[k.curve.volume_mL.length - 1]);
    return last;
  }

  private x(v: number): number {
    return this.left + ((this.right - this.left) * v) / this.end;
  }

  // place moves what depends on the meniscus only.
  private place(): void {
    const d = this.data;
    if (!d || !this.width) return;
    const v = d.volume_mL[this.index], y = d.reading[this.index];
    const x = this.x(v), { top, bottom } = this.tube;
    const middle = (top + bottom) / 2, bow = (bottom - top) * 0.32;
    set(this.hair, { x1: x, x2: x, y1: y === null ? this.main.top : scale(this.main, y), y2: top });
    this.dot.classList.toggle("hidden", y === null);
    if (y !== null) set(this.dot, { cx: x, cy: scale(this.main, y), r: this.em * 0.38 });
    set(this.meniscus, { d: `M${x} ${top}Q${x + 2 * bow} ${middle} ${x} ${bottom}` });
    set(this.liquid, { d: `M${x} ${top}H${this.right}V${bottom}H${x}Q${x + 2 * bow} ${middle} ${x} ${top}Z` });
    const w = this.em * 3;
    set(this.grip, { x: x - w / 2, y: top - this.em * 0.4, width: w, height: bottom - top + this.em * 0.8 });
    set(this.halo, { x: x - this.em * 0.7, y: top - 3, width: this.em * 1.4, height: bottom - top + 6 });
    set(this.handle, {
      "aria-valuemin": 0, "aria-valuemax": String(d.volume_mL[d.volume_mL.length - 1]), "aria-valuenow": String(v),
      "aria-valuetext": `${volumeText(v)} mL, ${y === null ? (d.undefined ?? "undefined") : readingText(d, y)}`,
    });
    this.onMove(this.index);
  }

  private draw(): void {
    const d = this.data, { em, width, height } = this;
    if (!d || width === 0) return;
    const [low, high] = range([d.reading, ...this.kept.map((k) => k.curve.reading), this.readings.map((p) => p.reading)]);
    const ticks = nice(low, high, Math.max(3, Math.floor(height / (em * 5))));
    this.end = this.span();
    this.left = em * (0.62 * Math.max(...ticks.map((t) => tickText(t).length)) + 2.6);
    this.right = width - em * 1.6;
    const tubeBottom = height - em * (width < 36 * em ? 6.6 : 5.4) - this.room();
    this.tube = { top: tubeBottom - em * 1.7, bottom: tubeBottom };
    const panels = this.split(em * 1.4, this.tube.top - em * 0.9, low, high);
    this.drawMain(d, ticks);
    if (this.slope) this.drawSlope(d, panels.slope!);
    if (this.shares) this.drawShares(d, panels.shares!);
    this.drawGlass();
    this.into(this.below);
    this.drawGraduation(d);
    this.drawBand(d);
    this.drawMarks(d);
    this.into(this.above);
    this.place();
  }

  private add(name: string, attributes: Attributes, ...inside: (Part | string)[]): void {
    this.parts.push(part(name, attributes, ...inside));
  }

  // into draws what was added.
  private into(group: SVGElement): void {
    redraw(group, this.parts);
    this.parts = [];
  }

  // split shares the height out among the panels.
  private split(top: number, bottom: number, low: number, high: number): { slope?: Panel; shares?: Panel } {
    const em = this.em, extra: Record<string, Panel> = {};
    let end = bottom;
    if (this.shares) {
      extra.shares = { top: end - em * 8.5, bottom: end, low: 0, high: 1 };
      end -= em * 10;
    }
    if (this.slope) {
      extra.slope = { top: end - em * 6.5, bottom: end, low: 0, high: 1 };
      end -= em * 8;
    }
    const pad = (high - low) * 0.04 || 1;
    this.main = { top, bottom: end, low: low - pad, high: high + pad };
    return extra;
  }

  private drawMain(d: Curve, ticks: number[]): void {
    const em = this.em, m = this.main;
    this.add("path", { class: "frame", d: `M${this.left} ${m.top}V${m.bottom}H${this.right}` });
    const drawn = ticks.map((t) => ({ t, y: scale(m, t) })).filter(({ y }) => y >= m.top - 1 && y <= m.bottom + 1);
    this.add("path", { class: "tick", d: drawn.map(({ y }) => `M${pixel(this.left - em * 0.4)} ${pixel(y)}H${pixel(this.left)}`).join("") });
    for (const { t, y } of drawn) this.add("text", { x: this.left - em * 0.6, y: y + em * 0.35, "text-anchor": "end" }, tickText(t));
    this.add("text", { x: this.left + em * 0.6, y: m.top - em * 0.3 }, d.axis);
    this.kept.forEach((k, i) => {
      this.add("path", { class: "other", "stroke-dasharray": dashes[i % dashes.length], d: this.line(k.curve.volume_mL, k.curve.reading, m) });
    });
    this.add("path", { class: "model", d: this.line(d.volume_mL, d.reading, m) });
    for (const p of this.readings) {
      const x = this.x(p.volume), y = scale(m, p.reading), s = em * 0.42;
      const inside = [part("circle", { cx: x, cy: y, r: em * 0.3 })];
      if (p.out) inside.push(part("path", { d: `M${x - s} ${y - s}L${x + s} ${y + s}M${x - s} ${y + s}L${x + s} ${y - s}` }));
      inside.push(part("title", {}, `${volumeText(p.volume)} mL, ${readingText(d, p.reading)}${p.out ? ", left out" : ""}`));
      this.add("g", { class: p.out ? "point out" : "point" }, ...inside);
    }
    if (d.reading.every((y) => y === null) && this.readings.length === 0) {
      this.add("text", { class: "marktext", x: (this.left + this.right) / 2, y: (m.top + m.bottom) / 2, "text-anchor": "middle" }, d.undefined ?? "The reading is undefined.");
    }
  }

  private drawSlope(d: Curve, p: Panel): void {
    this.add("path", { class: "frame", d: `M${this.left} ${p.top}V${p.bottom}H${this.right}` });
    if (!d.slope) return; // it is on its way
    // In powers of ten: at equivalence the exact slope can be a million times
    // that elsewhere.
    const em = this.em, size = d.slope.map((s) => (s === null || s === 0 ? null : Math.log10(Math.abs(s))));
    [p.low, p.high] = range([size]);
    if (p.high - p.low < 1) p.high = p.low + 1;
    const high = 10 ** p.high;
    this.add("path", { class: "slopeline", d: this.line(d.volume_mL, size, p) });
    const unit = d.unit === "" ? "per mL" : `${d.unit}/mL`;
    this.add("text", { x: this.left + em * 0.6, y: p.top + em * 0.6 }, `slope in powers of ten, up to ${figures(high, 2)} ${unit}`);
  }

  private drawShares(d: Curve, p: Panel): void {
    this.add("path", { class: "frame", d: `M${this.left} ${p.top}V${p.bottom}H${this.right}` });
    if (!d.shares) return; // they are on their way
    const em = this.em, group = d.shares.find((g) => g.of === this.shareOf) ?? d.shares[0];
    for (const t of [0, 0.5, 1]) {
      this.add("text", { x: this.left - em * 0.6, y: scale(p, t) + em * 0.35, "text-anchor": "end" }, `${t * 100} %`);
    }
    this.add("text", { x: this.left + em * 0.6, y: p.top - em * 0.3 }, group ? `share of ${group.of} in each species` : "no element has two species here");
    group?.shares.forEach((s, i) => {
      this.add("path", { class: "share", "stroke-dasharray": i === 0 ? "none" : dashes[(i - 1) % dashes.length], d: this.line(d.volume_mL, s.share, p) });
      const top = s.share.indexOf(Math.max(...s.share)), at = Math.min(Math.max(this.x(d.volume_mL[top]), this.left + em * 3), this.right - em * 3);
      const y = scale(p, s.share[top]);
      this.add("text", { class: "marktext", x: at, y: y + em * (s.share[top] > 0.8 ? 1.3 : -0.5), "text-anchor": "middle" }, s.name);
    });
  }

  // line is a path in tenths of a pixel. Points that fall on the one before are
  // left out: most of those around an equivalence point do.
  private line(v: number[], y: Column, p: Panel): string {
    const perVolume = (this.right - this.left) / this.end, perReading = (p.bottom - p.top) / (p.high - p.low);
    const out: string[] = [];
    let pen = "M", a = NaN, b = NaN;
    for (let i = 0; i < y.length; i++) {
      const q = y[i];
      if (q === null) {
        pen = "M";
        continue;
      }
      const h = Math.round((this.left + v[i] * perVolume) * 10), w = Math.round((p.bottom - (q - p.low) * perReading) * 10);
      if (pen === "L" && h === a && w === b) continue;
      out.push(pen, String(h / 10), " ", String(w / 10));
      pen = "L";
      a = h;
      b = w;
    }
    return out.join("");
  }

  // drawGlass and drawGraduation draw the burette: graduated glass that empties
  // to the right, with the liquid between them.
  private drawGlass(): void {
    const em = this.em, { top, bottom } = this.tube;
    this.add("path", { class: "glass", d: `M${this.left - em * 0.5} ${top}H${this.right}l${em * 0.7} ${(bottom - top) * 0.38}h${em * 0.6}v${(bottom - top) * 0.24}h${-em * 0.6}L${this.right} ${bottom}H${this.left - em * 0.5}` });
  }

  private drawGraduation(d: Curve): void {
    const { em, end } = this, { top, bottom } = this.tube;
    const px = (this.right - this.left) / end;
    const big = step(end / Math.max(2, Math.min(10, Math.floor((this.right - this.left) / (em * 4)))));
    const small = [big / 50, big / 20, big / 10, big / 5, big / 2].find((s) => s * px >= 4) ?? big;
    const per = Math.round(big / small), half = per % 2 === 0 ? per / 2 : 0;
    let lines = "";
    const numbers: Part[] = [];
    for (let i = 0; i * small <= end * (1 + 1e-9); i++) {
      const long = i % per === 0, x = this.x(i * small);
      const reach = (bottom - top) * (long ? 0.62 : half && i % half === 0 ? 0.45 : 0.28);
      lines += `M${pixel(x)} ${pixel(top)}v${pixel(reach)}`;
      if (long) numbers.push(part("text", { x, y: bottom + em * 1.15, "text-anchor": "middle" }, tickText(Number((i * small).toPrecision(12)))));
    }
    this.add("path", { class: "grad", d: lines });
    this.parts.push(...numbers);
    this.add("text", { x: this.right + em * 1.4, y: this.height - em * 0.3, "text-anchor": "end" }, `volume of ${d.titrant} added / mL`);
  }

  private drawBand(d: Curve): void {
    const em = this.em, y = this.tube.bottom + em * 1.55, h = em * 0.7;
    const from = this.left, to = this.x(d.volume_mL[d.volume_mL.length - 1]);
    for (const c of d.colours) {
      const x = this.x(c.from_mL);
      this.add("rect", { x, y, width: Math.max(Math.min(this.x(c.to_mL) + 0.7, to) - x, 0.7), height: h, "shape-rendering": "crispEdges", class: c.words === "colourless" ? "clear" : "", fill: c.swatch ?? "none" },
        part("title", {}, `${c.words}, ${volumeText(c.from_mL)} to ${volumeText(c.to_mL)} mL`));
    }
    this.add("rect", { class: "bandframe", x: from, y, width: to - from, height: h });
    if (this.indicator) this.drawIndicator(this.indicator, from, to, y + em * 0.9, h);
  }

  // room is what the band of an indicator needs.
  private room(): number {
    return this.indicator ? this.em * 0.9 : 0;
  }

  // drawIndicator draws the colours of the indicator below those of the
  // solution, with a tick where it changes.
  private drawIndicator(i: Indicator, from: number, to: number, y: number, h: number): void {
    const at = Math.min(Math.max(this.x(i.volume_mL), from), to);
    const half = (a: number, b: number, k: 0 | 1): Part => part("rect", { x: a, y, width: Math.max(b - a, 0), height: h, fill: i.css_colours[k] || "none" });
    this.add("g", { class: "indicator" }, half(from, at, 0), half(at, to, 1),
      part("rect", { class: "bandframe", x: from, y, width: to - from, height: h }),
      part("line", { class: "change", x1: at, x2: at, y1: this.tube.top - this.em * 0.9, y2: y + h }),
      part("title", {}, `${i.name}: ${i.colours[0]} to ${volumeText(i.volume_mL)} mL, then ${i.colours[1]}; ${i.error} from equivalence`));
  }

  private drawMarks(d: Curve): void {
    const em = this.em, { top, bottom } = this.tube;
    const several = d.landmarks.filter((l) => l.kind === "equivalence").length > 1;
    let taken = -Infinity;
    for (const m of d.landmarks) {
      const x = this.x(m.volume_mL);
      if (x > this.right + 1) continue;
      const wide = m.standard_uncertainty_mL * ((this.right - this.left) / this.end);
      if (wide > 0) this.add("rect", { class: "markwidth", x: x - wide, y: top - em * 0.45, width: 2 * wide, height: bottom - top + em * 0.9 });
      this.add("line", { class: "mark", x1: x, x2: x, y1: top - em * 0.55, y2: m.kind === "equivalence" ? bottom + em * 0.3 : top + em * 0.25 });
      const word = several ? m.species : m.kind;
      const u = m.standard_uncertainty_mL;
      const text = `${word} ${u > 0 ? withUncertainty(m.volume_mL, u) : volumeText(m.volume_mL, 2)}`;
      const size = text.length * em * 0.5;
      const at = Math.min(Math.max(x, this.left + size / 2), this.right + em * 1.4 - size / 2);
      const row = at - size / 2 < taken + em * 0.5 ? 1 : 0;
      if (row === 0) taken = at + size / 2;
      this.add("text", { class: "marktext", x: at, y: bottom + em * (3.65 + 1.15 * row) + this.room(), "text-anchor": "middle" }, text);
      this.add("line", { class: "mark", x1: x, x2: x, y1: bottom + em * 2.25 + this.room(), y2: bottom + em * 2.55 + this.room() });
    }
  }
}

function scale(p: Panel, y: number): number {
  return p.bottom - ((p.bottom - p.top) * (y - p.low)) / (p.high - p.low);
}

function range(columns: Column[]): [number, number] {
  let low = Infinity, high = -Infinity;
  for (const c of columns) {
    for (const y of c) {
      if (y === null) continue;
      if (y < low) low = y;
      if (y > high) high = y;
    }
  }
  return low <= high ? [low, high] : [0, 1];
}

function step(x: number): number {
  const power = 10 ** Math.floor(Math.log10(x));
  for (const m of [1, 2, 5, 10]) if (m * power >= x * 0.999) return m * power;
  return 10 * power;
}

function nice(low: number, high: number, most: number): number[] {
  const s = step((high - low || 1) / most), out: number[] = [];
  for (let i = Math.ceil(low / s - 1e-9); i * s <= high + 1e-9 * s; i++) out.push(Number((i * s).toPrecision(12)));
  return out;
}

function nearest(v: number[], x: number): number {
  let lo = 0, hi = v.length - 1;
  while (hi - lo > 1) {
    const mid = (lo + hi) >> 1;
    if (v[mid] <= x) lo = mid;
    else hi = mid;
  }
  return Math.abs(v[hi] - x) < Math.abs(v[lo] - x) ? hi : lo;
}

function tickText(x: number): string {
  return minus(String(x));
}

// volumeText has as many decimals as the volume needs, at least two.
export function volumeText(v: number, most = 5): string {
  const t = v.toFixed(most).replace(/0+$/, "");
  const decimals = t.length - t.indexOf(".") - 1;
  return v.toFixed(Math.max(2, decimals));
}

// withUncertainty rounds a volume by its standard uncertainty.
export function withUncertainty(v: number, u: number): string {
  const decimals = Math.min(5, Math.max(0, 1 - Math.floor(Math.log10(u))));
  return `${v.toFixed(decimals)} ± ${u.toFixed(decimals)}`;
}

export function readingText(d: Curve, y: number): string {
  return d.unit === "mV" ? `${minus(y.toFixed(1))} mV` : `${d.symbol} ${minus(y.toFixed(3))}`;
}
