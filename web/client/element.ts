// Elements of a page: found by id, and made.

export function byID<T extends HTMLElement>(id: string): T {
  return document.getElementById(id) as T;
}

export function element(name: string, className: string, ...inside: (Node | string)[]): HTMLElement {
  const e = document.createElement(name);
  if (className) e.className = className;
  e.append(...inside);
  return e;
}
