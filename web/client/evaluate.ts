// The Evaluate page: drag over a figure chooses readings by their volume, so
// that they can be left out with a reason. Everything else is plain forms.

const ns = "http://www.w3.org/2000/svg";
const lists = [...document.querySelectorAll<HTMLDetailsElement>("details.taken")];

const how = document.getElementById("how") as HTMLFormElement | null;
how?.addEventListener("change", () => how.requestSubmit());

// The rows with a number and the circles of the figure are the same readings,
// those left out among them; the first and the last give the scale between
// volume and place.
function scaleOf(s: SVGSVGElement, d: HTMLDetailsElement): ((x: number) => number) | null {
  const rows = [...d.querySelectorAll<HTMLTableRowElement>("tr[data-added]")].map((r) => Number(r.dataset.added));
  const circles = [...s.querySelectorAll("circle")].map((c) => Number(c.getAttribute("cx")));
  const low = Math.min(...rows), high = Math.max(...rows), from = Math.min(...circles), to = Math.max(...circles);
  if (!(high > low) || !(to > from)) return null;
  return (x) => low + ((x - from) * (high - low)) / (to - from);
}

function choosable(svg: SVGSVGElement, list: HTMLDetailsElement): void {
  const volume = scaleOf(svg, list);
  if (!volume) return;
  const box = document.createElementNS(ns, "rect");
  box.setAttribute("class", "choosing");
  let start = NaN;
  const place = (e: PointerEvent): number => {
    const r = svg.getBoundingClientRect();
    return ((e.clientX - r.left) / r.width) * svg.viewBox.baseVal.width;
  };
  const end = () => {
    start = NaN;
    box.remove();
  };
  svg.classList.add("choosable");
  svg.addEventListener("pointerdown", (e) => {
    if (e.pointerType === "touch") return; // a finger scrolls; the list chooses
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
  svg.addEventListener("pointercancel", end);
  svg.addEventListener("pointerup", (e) => {
    if (Number.isNaN(start)) return;
    const a = volume(Math.min(start, place(e))), b = volume(Math.max(start, place(e)));
    end();
    choose(list, a, b);
  });
}

function choose(d: HTMLDetailsElement, low: number, high: number): void {
  let chosen = 0;
  for (const row of d.querySelectorAll<HTMLTableRowElement>("tr[data-volume]")) {
    const v = Number(row.dataset.added ?? NaN), tick = row.querySelector<HTMLInputElement>("input")!;
    tick.checked = v >= low && v <= high;
    if (tick.checked) chosen++;
  }
  if (chosen === 0) return;
  d.open = true;
  const why = d.querySelector<HTMLInputElement>("input[name=why]")!;
  why.focus();
  why.scrollIntoView({ block: "center" });
}

// A figure and the list of its readings go by the name of the run; a list that
// is cut short gives no scale.
document.querySelectorAll<HTMLElement>("#report .run").forEach((run, i) => {
  const list = lists.filter((d) => d.dataset.drawn === String(i))[0];
  if (!list || list.dataset.more) return;
  run.querySelectorAll<SVGSVGElement>(".figure svg").forEach((svg) => choosable(svg, list));
});
