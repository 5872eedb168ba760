// Drawing keeps what was drawn: a picture is described as a whole each time, and
// only what differs from the last one is changed in the page. A browser is quick
// to move a line and slow to make one.

const ns = "http://www.w3.org/2000/svg";
export type Attributes = Record<string, string | number>;

// A Part is an element to be drawn, with what is inside it.
export interface Part {
  name: string;
  attributes: Attributes;
  inside: (Part | string)[];
}

export function part(name: string, attributes: Attributes, ...inside: (Part | string)[]): Part {
  return { name, attributes, inside };
}

export function make(name: string, attributes: Attributes, ...inside: (Node | string)[]): SVGElement {
  const e = document.createElementNS(ns, name);
  set(e, attributes);
  e.append(...inside);
  return e;
}

// set gives an element those attributes that it does not have yet.
export function set(e: Element, attributes: Attributes): void {
  for (const [k, v] of Object.entries(attributes)) {
    const s = written(v);
    if (e.getAttribute(k) !== s) e.setAttribute(k, s);
  }
}

function written(v: string | number): string {
  return typeof v === "string" ? v : String(pixel(v));
}

// pixel rounds to hundredths of a pixel: more is not seen.
export function pixel(x: number): number {
  return Math.round(x * 100) / 100;
}

// redraw makes the inside of an element what the parts say.
export function redraw(e: Element, parts: (Part | string)[]): void {
  const there = e.childNodes;
  parts.forEach((p, i) => {
    const old = there[i] as ChildNode | undefined;
    if (typeof p === "string") {
      if (old instanceof Text) {
        if (old.data !== p) old.data = p;
      } else if (old) old.replaceWith(p);
      else e.append(p);
      return;
    }
    let child = old as Element;
    if (!(old instanceof Element) || old.tagName !== p.name) {
      child = document.createElementNS(ns, p.name);
      if (old) old.replaceWith(child);
      else e.append(child);
    }
    for (const name of child.getAttributeNames()) if (!(name in p.attributes)) child.removeAttribute(name);
    set(child, p.attributes);
    redraw(child, p.inside);
  });
  while (there.length > parts.length) e.lastChild!.remove();
}
