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
  show();
});
