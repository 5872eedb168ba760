// The verdict under the curve and how to titrate, folded. It is asked for when
// the hand has rested, so that it never delays the curve.

import { byID, element } from "./element";
import type { Feasibility, Indicator, Plan, PlanTable } from "./answer";
import { number, typeset } from "./formula";

const rest = 600, patience = 300; // ms

export class Advice {
  onIndicator: (chosen: Indicator | null) => void = () => {};
  private asked = "";
  private setup = "";
  private timer = 0;
  private running: AbortController | null = null;
  private list: Indicator[] = [];
  private verdict = byID("verdict");
  private doing = byID("doing");
  private stop = byID<HTMLButtonElement>("stop-plan");
  private sections = byID("advice");
  private select = byID<HTMLSelectElement>("indicator");
  private accuracy = byID<HTMLInputElement>("accuracy");

  constructor() {
    this.stop.addEventListener("click", () => {
      this.end();
      this.asked = "";
      this.doing.textContent = "Stopped. The next change asks again.";
    });
    this.select.addEventListener("change", () => this.choose());
    this.accuracy.addEventListener("input", () => {
      const x = number(this.accuracy.value), right = x > 0 && x < 20;
      this.accuracy.setAttribute("aria-invalid", String(!right));
      this.doing.textContent = right ? "" : "The accuracy wanted is above 0 and below 20 %.";
      if (right) this.follow(this.setup);
    });
  }

  // follow asks about a setup, unless it is the one asked about last.
  follow(setup: string): void {
    const key = `${this.accuracy.value}\n${setup}`;
    if (key === this.asked) return;
    const first = this.setup === "";
    this.asked = key;
    this.setup = setup;
    this.end();
    this.verdict.classList.add("stale");
    this.timer = setTimeout(() => void this.ask(), first ? 0 : rest);
  }

  // refuse says why there is no verdict on what is written now.
  refuse(why: string): void {
    this.end();
    this.asked = "";
    this.verdict.classList.remove("stale");
    this.verdict.className = "doubted";
    this.verdict.replaceChildren(typeset(why));
    this.sections.replaceChildren();
    byID("how").hidden = true;
    this.indicators([]);
  }

  private end(): void {
    clearTimeout(this.timer);
    this.running?.abort();
    this.running = null;
    this.stop.hidden = true;
    this.doing.textContent = "";
  }

  private async ask(): Promise<void> {
    const mine = (this.running = new AbortController());
    const say = setTimeout(() => {
      this.doing.textContent = "Working out the jump, the indicators and where to read\u2026";
      this.stop.hidden = false;
    }, patience);
    try {
      const r = await fetch("/api/feasibility", {
        method: "POST",
        headers: { "Content-Type": "application/json" },
        body: JSON.stringify({ setup: this.setup, accuracy_percent: number(this.accuracy.value) }),
        signal: mine.signal,
      });
      if (!r.ok) throw new Error(`There is no verdict: the bench answered with status ${r.status}.`);
      const f: Feasibility = await r.json();
      if (this.running !== mine) return;
      this.end();
      if (f.plan) this.show(f.plan);
      else this.refuse(`No verdict yet: ${f.problem?.message ?? "the setup cannot be planned"}`);
    } catch (e) {
      if (this.running !== mine) return; // a newer question took its place
      this.refuse(e instanceof TypeError ? "There is no verdict: the bench does not answer." : String((e as Error).message));
    } finally {
      clearTimeout(say);
    }
  }

  private show(p: Plan): void {
    this.verdict.className = p.enough ? "" : "doubted";
    this.verdict.replaceChildren(typeset(p.verdict.join(" ")));
    const open = new Set([...this.sections.querySelectorAll<HTMLElement>("details[open]")].map((d) => d.dataset.key));
    this.sections.replaceChildren(...p.sections.map((s) => {
      const d = element("details", "", element("summary", "", s.heading)) as HTMLDetailsElement;
      d.dataset.key = s.key;
      d.open = open.has(s.key);
      for (const t of s.say) d.append(element("p", "", typeset(t)));
      for (const t of s.tables) d.append(table(t, s.heading));
      if (s.items.length) d.append(element("ul", "plain", ...s.items.map((t) => element("li", "", typeset(t)))));
      return d;
    }));
    byID("how").hidden = false;
    this.indicators(p.indicators);
  }

  private indicators(list: Indicator[]): void {
    const was = this.select.value;
    this.list = list;
    const groups = new Map<string, Node[]>();
    list.forEach((x) => {
      const o = new Option(`${x.name} (${x.error})`, key(x), false, key(x) === was);
      groups.set(x.point, [...(groups.get(x.point) ?? []), o]);
    });
    const nodes: Node[] = [new Option("none", "")];
    for (const [point, options] of groups) {
      if (point === "") nodes.push(...options);
      else {
        const g = document.createElement("optgroup");
        g.label = point;
        g.append(...options);
        nodes.push(g);
      }
    }
    this.select.replaceChildren(...nodes);
    byID("indicator-label").hidden = list.length === 0;
    this.choose();
  }

  private choose(): void {
    const x = this.list.find((i) => key(i) === this.select.value) ?? null, says = byID("indicator-says");
    says.replaceChildren();
    if (x) {
      const colour = (k: 0 | 1): (Node | string)[] => {
        const s = element("span", "swatch");
        s.style.backgroundColor = x.css_colours[k];
        return x.colours[k] ? [s, x.colours[k]] : ["a colour that is not in the tables"];
      };
      says.append(element("strong", "", typeset(x.name)), " changes from ", ...colour(0), " to ", ...colour(1), `, with an error of ${x.error}. It ${x.fits ? "fits" : "does not fit"} the accuracy wanted.`);
    }
    says.hidden = x === null;
    this.onIndicator(x);
  }
}

function key(x: Indicator): string {
  return `${x.point}/${x.name}`;
}

function table(t: PlanTable, name: string): HTMLElement {
  const body = t.rows.map((row, i) => {
    const cells = row.map((text, k) => {
      const c = element(i === 0 && text ? "th" : "td", t.align[k] === "r" ? "n" : "", typeset(text));
      if (c instanceof HTMLTableCellElement && c.tagName === "TH") c.scope = "col";
      return c;
    });
    if (t.swatches) {
      const c = element("td", "");
      if (i > 0) {
        for (const colour of t.swatches[i - 1]) {
          const s = element("span", "swatch");
          s.style.backgroundColor = colour;
          c.append(s);
        }
      }
      cells.push(c);
    }
    return element("tr", "", ...cells);
  });
  const scroll = element("div", "scroll", element("table", "", ...body));
  scroll.tabIndex = 0;
  scroll.setAttribute("role", "region");
  scroll.setAttribute("aria-label", `Table: ${name}`);
  return scroll;
}
