"use strict";
(() => {
  const body = document.body, n = body.dataset.n, keys = [...document.querySelectorAll("[data-k]")];
  const shown = (it) => !it.closest("[hidden]");
  let typed = "", timer = 0;
  const press = () => {
    const it = keys.find((it) => it.dataset.k === typed && shown(it));
    typed = "";
    if (it) it.click();
  };
  addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const back = document.querySelector(".back");
    if (event.key === "Escape" && back) { back.click(); return; }
    if (event.target.matches("input:not([type=checkbox]), select, textarea")) return;
    if (!/^[0-9]$/.test(event.key)) return;
    clearTimeout(timer);
    typed += event.key;
    // A second figure is waited for only where one could follow.
    const more = keys.some((it) => it.dataset.k.length > typed.length && it.dataset.k.startsWith(typed));
    if (more) timer = setTimeout(press, 700); else press();
  });
  const find = document.getElementById("find");
  if (find) find.addEventListener("input", () => {
    const word = find.value.trim().toLowerCase();
    for (const it of document.querySelectorAll(".options button"))
      it.hidden = !it.textContent.toLowerCase().includes(word);
  });
  // A photo is made smaller before it is sent, where the browser can; else it goes as it is.
  const photo = document.querySelector("form.photo");
  if (photo) photo.addEventListener("submit", async (event) => {
    event.preventDefault();
    const input = photo.querySelector("input[type=file]"), file = input.files[0], most = 1600;
    try {
      const picture = await createImageBitmap(file), by = Math.min(1, most / Math.max(picture.width, picture.height));
      const canvas = document.createElement("canvas");
      canvas.width = Math.round(picture.width * by); canvas.height = Math.round(picture.height * by);
      canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
      const blob = await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.85));
      const list = new DataTransfer();
      list.items.add(new File([blob], "photo.jpg", { type: "image/jpeg" }));
      if (blob.size < file.size) input.files = list.files;
    } catch { /* it goes as it is, and is judged there */ }
    photo.submit();
  });
  const first = document.querySelector("#line, #v1");
  if (first) first.focus({ preventScroll: true });
  // The engine that runs: parts of the page are put in the place of older ones as soon as there is something new.
  const pause = (ms) => new Promise((done) => setTimeout(done, ms));
  const title = document.title.replace(/^((STOP|WATCH): )+/, "");
  const follow = async () => {
    for (let strip; (strip = document.getElementById("strip")) && strip.dataset.news;) {
      if (document.hidden) { await pause(1000); continue; }
      const live = document.getElementById("live"), on = live ? live.dataset.on : "";
      const at = "/now?news=" + strip.dataset.news + "&row=" + strip.dataset.row + "&on=" + on;
      try {
        const got = await fetch(at, { credentials: "same-origin" });
        if (!got.ok) throw new Error();
        const page = new DOMParser().parseFromString(await got.text(), "text/html");
        for (const id of ["strip", "live", "sets", "lines"]) {
          const old = document.getElementById(id), now = page.getElementById(id);
          if (!old || !now) continue;
          // What can be pressed stays under the finger until something of it has changed.
          if (old.innerHTML === now.innerHTML && old.className === now.className) Object.assign(old.dataset, now.dataset);
          else old.replaceWith(document.adoptNode(now));
        }
        const heat = document.querySelector("#strip .heat strong, header .heat strong");
        document.title = (heat ? heat.textContent + ": " : "") + title;
      } catch {
        strip.classList.add("lost");
        strip.querySelector(".runs strong")?.remove();
        const said = document.createElement("strong");
        said.textContent = " No word from the computer: these readings are old. ";
        strip.querySelector(".runs").append(said);
        await pause(2000);
      }
    }
  };
  follow();
  if (!n) { if (body.querySelector("h1")?.textContent === "Working it out") setTimeout(() => location.reload(), 700); return; }
  const look = async () => {
    if (document.hidden) return;
    try {
      const word = await (await fetch("/poll?n=" + n, { credentials: "same-origin" })).text();
      if (word === "same") return;
      if (body.dataset.rest === "1" || word === "other") { location.replace("/"); return; }
      if (!document.querySelector(".meanwhile")) {
        const form = document.createElement("form");
        form.className = "meanwhile"; form.method = "post"; form.action = "/anew";
        const p = document.createElement("p"), button = document.createElement("button");
        p.setAttribute("role", "status");
        p.textContent = "Another has entered something meanwhile. What you enter now is added to it. To see it first, leave this question:";
        button.textContent = "Show where the job stands now";
        form.append(p, button);
        document.querySelector("main").prepend(form);
      }
    } catch { /* the computer is out of reach: the page stays as it is */ }
  };
  setInterval(look, 4000);
  addEventListener("visibilitychange", look);
})();
