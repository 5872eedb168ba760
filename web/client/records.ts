// The Records page: a backup that is restored says how far it is and can be
// stopped. Without this script the form is sent as any other.

interface Restoring {
  done?: number;
  of?: number;
  to?: string;
  error?: string;
}

function start(form: HTMLFormElement): void {
  const button = form.querySelector("button")!;
  const said = form.querySelector<HTMLOutputElement>("output")!;
  const bar = form.querySelector("progress")!;
  const stop = form.querySelector<HTMLButtonElement>("button[type=button]")!;
  const size = form.querySelector("input")!.files?.[0]?.size ?? 0;
  const show = (words: string, done?: number, of?: number) => {
    said.textContent = words;
    if (done === undefined || of === undefined) bar.removeAttribute("value");
    else [bar.value, bar.max] = [done, of];
  };
  const end = (words: string) => {
    said.textContent = words;
    said.classList.toggle("error", words !== "");
    button.disabled = false;
    bar.hidden = stop.hidden = true;
  };
  const q = new XMLHttpRequest();
  let read = 0;
  const lines = (): Restoring | undefined => {
    const whole = q.responseText.lastIndexOf("\n") + 1;
    const last = q.responseText.slice(read, whole).trim().split("\n").pop();
    read = Math.max(read, whole);
    return last ? (JSON.parse(last) as Restoring) : undefined;
  };
  const megabytes = (n: number) => (n / 1e6).toFixed(n < 1e7 ? 1 : 0);
  q.upload.onprogress = (e) => show(`sending: ${megabytes(e.loaded)} of ${megabytes(Math.max(size, e.loaded))} MB`, e.loaded, e.total);
  q.upload.onload = () => show("checking the file");
  q.onprogress = () => {
    if (q.status !== 200) return;
    const x = lines();
    if (x?.of) show(`restoring: ${x.done} of ${x.of} records`, x.done, x.of);
    else if (x?.to) location.assign(x.to);
    else if (x?.error) end(x.error);
  };
  q.onload = () => {
    if (q.status === 200) {
      if (!q.responseText.includes('"to"') && !q.responseText.includes('"error"')) end("The bench ended before all was restored. Nothing was restored; send the backup again.");
      return;
    }
    const page = new DOMParser().parseFromString(q.responseText, "text/html");
    end(page.querySelector("main p")?.textContent ?? `The bench answered with status ${q.status}. Nothing was restored.`);
  };
  q.onerror = () => end("The bench cannot be reached. Nothing was restored; look whether it still runs and send the backup again.");
  q.onabort = () => end("Stopped. Nothing was restored.");
  stop.onclick = () => q.abort();
  button.disabled = true;
  bar.hidden = stop.hidden = false;
  said.classList.remove("error");
  show("sending");
  q.open("POST", form.action);
  q.setRequestHeader("Accept", "application/x-ndjson");
  q.send(new FormData(form));
}

const form = document.querySelector<HTMLFormElement>("form.restore");
form?.addEventListener("submit", (e) => {
  e.preventDefault();
  start(form);
});
