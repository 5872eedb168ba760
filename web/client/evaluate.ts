// The Evaluate page: drag over the figure chooses readings by their volume, so
// that they can be left out with a reason. Everything else is plain forms.

const svg = [...document.querySelectorAll<SVGSVGElement>("#report .figure svg")].find((s) => s.getBoundingClientRect().width > 0);
const details = document.querySelector<HTMLDetailsElement>("details.taken");
const ns = "http://www.w3.org/2000/svg";

const how = document.getElementById("how") as HTMLFormElement | null;
how?.addEventListener("change", () => how.requestSubmit());

function number(text: string | undefined): number {
  return Number((text ?? "").replace(",", "."));
}

// The rows that take part, and the circles of the figure, stand in the same
// order; the first and the last give the scale between volume and place.
function scaleOf(s: SVGSVGElement, d: HTMLDetailsElement): ((x: number) => number) | null {
  const rows = [...d.querySelectorAll<HTMLTableRowElement>("tr[data-volume]:not(.out)")].map((r) => number(r.dataset.volume));
  const circles = [...s.querySelectorAll("circle")].map((c) => Number(c.getAttribute("cx")));
  const low = Math.min(...rows), high = Math.max(...rows), from = Math.min(...circles), to = Math.max(...circles);
  if (!(high > low) || !(to > from)) return null;
  return (x) => low + ((x - from) * (high - low)) / (to - from);
}

if (svg && details && document.querySelectorAll("details.taken").length === 1) {
  const volume = scaleOf(svg, details);
  const box = document.createElementNS(ns, "rect");
  box.setAttribute("class", "choosing");
  let start = NaN;
  const place = (e: PointerEvent): number => {
    const r = svg.getBoundingClientRect();
    return ((e.clientX - r.left) / r.width) * svg.viewBox.baseVal.width;
  };
  if (volume) {
    svg.classList.add("choosable");
    svg.addEventListener("pointerdown", (e) => {
      if (e.pointerType === "touch") return; // a finger scrolls; the table chooses
      start = place(e);
      svg.setPointerCapture(e.pointerId);
      box.setAttribute("y", "0");
      box.setAttribute("height", String(svg.viewBox.baseVal.height));
      box.setAttribute("width", "0");
      svg.append(box);
      e.preventDefault();
    });
    svg.addEventListener("pointermove", (e) => {
      if (Number.isNaN(start)) return;
      const x = place(e);
      box.setAttribute("x", String(Math.min(start, x)));
      box.setAttribute("width", String(Math.abs(x - start)));
    });
    svg.addEventListener("pointerup", (e) => {
      if (Number.isNaN(start)) return;
      const a = volume(Math.min(start, place(e))), b = volume(Math.max(start, place(e)));
      start = NaN;
      box.remove();
      choose(details, a, b);
    });
  }
}

function choose(d: HTMLDetailsElement, low: number, high: number): void {
  let chosen = 0;
  for (const row of d.querySelectorAll<HTMLTableRowElement>("tr[data-volume]")) {
    const v = number(row.dataset.volume), tick = row.querySelector<HTMLInputElement>("input")!;
    tick.checked = v >= low && v <= high;
    if (tick.checked) chosen++;
  }
  if (chosen === 0) return;
  d.open = true;
  const why = d.querySelector<HTMLInputElement>("input[name=why]")!;
  why.focus();
  why.scrollIntoView({ block: "center" });
}
