// Light, dark and projector, kept for the next page. Runs before the page is
// drawn, so that nothing flashes.

const root = document.documentElement;

function kept(name: string): string | null {
  try {
    return localStorage.getItem(name);
  } catch {
    return null; // storage is off; the choice holds for this page
  }
}

function keep(name: string, value: string): void {
  try {
    localStorage.setItem(name, value);
  } catch {
    // as above
  }
}

root.classList.add("js");
root.dataset.theme = kept("theme") ?? "auto";
root.dataset.view = kept("view") ?? "page";

function dark(): boolean {
  const t = root.dataset.theme;
  return t === "dark" || (t === "auto" && matchMedia("(prefers-color-scheme: dark)").matches);
}

// An equation that is wider than the page can be scrolled with the keyboard;
// others are no stop of the Tab key.
function reach(): void {
  for (const e of document.querySelectorAll<HTMLElement>(".working .eq, .scroll")) {
    if (e.scrollWidth > e.clientWidth + 1) e.tabIndex = 0;
    else e.removeAttribute("tabindex");
  }
}
addEventListener("worked", reach);
addEventListener("resize", reach);
addEventListener("load", () => void document.fonts.ready.then(reach));

addEventListener("DOMContentLoaded", () => {
  const theme = document.getElementById("theme") as HTMLButtonElement;
  const projector = document.getElementById("projector") as HTMLButtonElement;
  const show = () => {
    theme.textContent = dark() ? "Light" : "Dark";
    projector.setAttribute("aria-pressed", String(root.dataset.view === "projector"));
  };
  theme.addEventListener("click", () => {
    root.dataset.theme = dark() ? "light" : "dark";
    keep("theme", root.dataset.theme);
    show();
  });
  projector.addEventListener("click", () => {
    root.dataset.view = root.dataset.view === "projector" ? "page" : "projector";
    keep("view", root.dataset.view);
    show();
    dispatchEvent(new Event("resize"));
  });
  document.getElementById("print")?.addEventListener("click", () => print());
  show();
});
