// Formulas come from the server in Unicode (Fe²⁺); on the page they stand with
// real raised and lowered signs.

const raised = "⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻";
const lowered = "₀₁₂₃₄₅₆₇₈₉";
const plain = "0123456789+−";

// typeset returns text as nodes.
export function typeset(text: string): DocumentFragment {
  const out = document.createDocumentFragment();
  let tag = "", run = "";
  const flush = () => {
    if (run === "") return;
    if (tag === "") out.append(run);
    else {
      const e = document.createElement(tag);
      e.textContent = run;
      out.append(e);
    }
    run = "";
  };
  for (const c of text) {
    const up = raised.indexOf(c), down = lowered.indexOf(c);
    const t = up >= 0 ? "sup" : down >= 0 ? "sub" : "";
    if (t !== tag) {
      flush();
      tag = t;
    }
    run += up >= 0 ? plain[up] : down >= 0 ? plain[down] : c;
  }
  flush();
  return out;
}

// figures writes x with n significant figures as a chemist does: 0.0412, or
// 3.1 × 10⁻⁷.
export function figures(x: number, n: number): string {
  if (x === 0) return "0";
  const size = Math.abs(x);
  if (size >= 1e-4 && size < 1e5) return minus(Number(x.toPrecision(n)).toFixed(Math.max(0, n - 1 - Math.floor(Math.log10(size)))));
  const [m, e] = x.toExponential(n - 1).split("e");
  const power = [...String(Number(e))].map((c) => (c === "-" ? "⁻" : raised[Number(c)])).join("");
  return minus(`${m} × 10`) + power;
}

export function minus(s: string): string {
  return s.replace(/-/g, "−");
}

// number reads what was typed, with decimal point or comma; NaN if it is none,
// or too large for one.
export function number(text: string): number {
  const t = text.trim().replace("−", "-").replace(",", ".");
  const x = /^[-+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?$/i.test(t) ? Number(t) : NaN;
  return Math.abs(x) <= 1e12 ? x : NaN; // as the bench does
}
