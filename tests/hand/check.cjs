"use strict";
// The page in the hand, played in a browser by touch alone. The job is invented.
const { spawn, spawnSync } = require("node:child_process");
const { mkdtempSync, mkdirSync, rmSync } = require("node:fs");
const { tmpdir } = require("node:os");
const path = require("node:path");
const readline = require("node:readline");
const { chromium } = require("playwright-core");

const program = process.argv[2];
const shots = process.env.ODDPOT_SHOTS;
const found = [];
const complain = (where, what) => { found.push(`${where}: ${what}`); };

const SIZES = [[390, 844], [768, 1024], [1280, 800]];
const SAFE = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
  "--disable-component-update", "--disable-sync"];

async function serve(folder, options = []) {
  const child = spawn(program, ["serve", "--port", "0", "--json", "--jobs", path.join(folder, "jobs"), ...options],
    { stdio: ["pipe", "pipe", "inherit"] });
  const lines = readline.createInterface({ input: child.stdout });
  const address = await new Promise((done) => lines.once("line", (line) => done(JSON.parse(line).address)));
  return { child, address };
}

// A page of a device that is touched, on which nothing may fail, and which may ask nobody else.
async function touched(browser, { width, height, script, dark, host, where }) {
  const context = await browser.newContext({
    viewport: { width, height }, hasTouch: true, isMobile: width < 1000, javaScriptEnabled: script,
    colorScheme: dark ? "dark" : "light", deviceScaleFactor: 1,
  });
  // A machine may be busy with other things.
  context.setDefaultTimeout(180000);
  context.setDefaultNavigationTimeout(180000);
  const page = await context.newPage();
  page.on("request", (request) => {
    const url = new URL(request.url());
    if (url.protocol !== "data:" && url.host !== host) complain(where, `asks ${request.url()}`);
  });
  page.on("console", (message) => { if (message.type() === "error") complain(where, message.text()); });
  page.on("pageerror", (error) => complain(where, String(error)));
  return page;
}

// What is looked at on every page, in the page itself.
function audit() {
  const out = [];
  const visible = (it) => it.getClientRects().length > 0 && getComputedStyle(it).visibility !== "hidden";
  const name = (it) => (it.getAttribute("aria-label") || [...(it.labels || [])].map((l) => l.textContent).join(" ")
    || (it.getAttribute("aria-labelledby") || "").split(" ").map((id) => document.getElementById(id)?.textContent || "").join(" ")
    || it.textContent || "").trim();
  for (const it of document.querySelectorAll("a, button, input:not([type=hidden]), select, summary")) {
    if (!visible(it)) continue;
    const what = `${it.tagName.toLowerCase()} "${name(it).slice(0, 40)}"`;
    if (!name(it)) out.push(`${what} has no name`);
    let box = it.getBoundingClientRect();
    if (it.type === "checkbox") box = it.closest("label").getBoundingClientRect();
    if (box.height < 48 || box.width < 48) out.push(`${what} is ${Math.round(box.width)} by ${Math.round(box.height)}`);
  }
  const rgba = (text) => {
    const n = text.match(/[\d.]+/g).map(Number);
    return { r: n[0], g: n[1], b: n[2], a: n.length > 3 ? n[3] : 1 };
  };
  const light = ({ r, g, b }) => {
    const f = (v) => { v /= 255; return v <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; };
    return 0.2126 * f(r) + 0.7152 * f(g) + 0.0722 * f(b);
  };
  const behind = (it) => {
    for (let at = it; at; at = at.parentElement) {
      const colour = rgba(getComputedStyle(at).backgroundColor);
      if (colour.a > 0.99) return colour;
    }
    return { r: 255, g: 255, b: 255 };
  };
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const seen = new Set();
  while (walker.nextNode()) {
    const it = walker.currentNode.parentElement;
    if (!walker.currentNode.textContent.trim() || seen.has(it) || !visible(it) || it.closest("script, style, svg, noscript, option")) continue;
    seen.add(it);
    const [a, b] = [light(rgba(getComputedStyle(it).color)), light(behind(it))];
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    if (ratio < 4.5) out.push(`contrast ${ratio.toFixed(1)} of "${it.textContent.trim().slice(0, 40)}"`);
  }
  if (!document.documentElement.lang) out.push("no language");
  if (!document.title) out.push("no title");
  if (document.querySelectorAll("h1").length !== 1) out.push(`${document.querySelectorAll("h1").length} headings of the first order`);
  const ids = [...document.querySelectorAll("[id]")].map((it) => it.id);
  if (new Set(ids).size !== ids.length) out.push("an id twice");
  if (document.documentElement.scrollWidth > document.documentElement.clientWidth + 1)
    out.push(`wider than the screen: ${document.documentElement.scrollWidth}`);
  return out;
}

async function play(size, script, dark) {
  const [width, height] = size;
  const where = `${width}x${height} ${script ? "script" : "no script"}${dark ? " dark" : ""}`;
  const folder = mkdtempSync(path.join(tmpdir(), "hand-"));
  mkdirSync(path.join(folder, "jobs"));
  const served = await serve(folder);
  const host = new URL(served.address).host;
  const browser = await chromium.launch({ executablePath: "/usr/bin/chromium", args: SAFE });
  try {
    const page = await touched(browser, { width, height, script, dark, host, where });
    let count = 0, largest = 0;
    page.on("response", async (response) => {
      if (response.request().resourceType() !== "document" || response.status() === 303) return;
      const length = Number(response.headers()["content-length"] || 0);
      if (!largest) console.log(`${where}: first page ${length} bytes`);
      largest = Math.max(largest, length);
    });
    const look = async (name) => {
      // Scripts of the page's own are off there; what the driver asks runs all the same.
      for (const what of await page.evaluate(audit)) complain(`${where} ${name}`, what);
      if (shots) {
        const file = `${width}-${script ? "script" : "plain"}${dark ? "-dark" : ""}-${String(count++).padStart(2, "0")}-${name}.png`;
        await page.screenshot({ path: path.join(shots, file), fullPage: name.endsWith("whole") });
      }
    };
    const question = () => page.locator("h1").first().innerText();
    const asked = async (text) => {
      const is = await question();
      if (is !== text) throw new Error(`${where}: asked "${is}", expected "${text}"`);
    };
    const press = async (locator) => {
      await Promise.all([page.waitForNavigation(), locator.tap()]);
    };
    const option = async (text, label) => {
      await asked(text);
      await press(page.locator(".answer button[name=choice]", { hasText: label }).first());
    };
    const line = async (text, value) => {
      await asked(text);
      await page.fill("#line", value);
      await press(page.locator(".answer button.first"));
    };
    const values = async (text, list) => {
      await asked(text);
      for (const [index, value] of list.entries()) {
        if (/^[a-z]/.test(value)) await page.selectOption(`select[name=s${index + 1}]`, value);
        else await page.fill(`#v${index + 1}`, value);
      }
      await press(page.locator(".answer button.first"));
    };
    await page.goto(served.address);
    await look("door");
    await press(page.locator("button.first"));
    await look("begin");
    await press(page.locator("button", { hasText: "The jobs" }));
    await look("vehicle");
    await line("Which vehicle or engine?", "Blue estate; AB 123; 84210 km");
    await line("What is the complaint?", "display 5 reads low");
    await look("engines");
    await option("What engine is it?", "V6, port");
    await look("lately");
    await press(page.locator(".answer button.first"));
    await option("Exhaust readings: how does the engine run?", "warm idle");
    await look("values");
    await values("Displays 1 to 6 at warm idle, °C:", ["512", "505,5", "498", "509", "441", "515"]);
    await look("stands");
    await look("stands-whole");
    await option("What now?", "Enter readings");
    await option("Exhaust readings: how does the engine run?", "steady cruise");
    await values("Displays 1 to 6 at steady cruise, °C:", ["655", "648", "640", "651", "1010", "658"]);
    await look("stop");
    if (!await page.locator(".heat.stop").isVisible()) complain(where, "no STOP");
    await page.evaluate(() => scrollTo(0, 500));
    const box = await page.locator(".heat.stop").boundingBox();
    if (!box || box.y < -1 || box.y > 60) complain(where, "STOP is not in sight when scrolled");
    await option("What now?", "Undo the last entry");
    await press(page.locator("nav a", { hasText: "Photos" }));
    // One picture of the page itself, as a phone would take one.
    const picture = path.join(folder, "picture.png");
    await page.screenshot({ path: picture });
    await page.setInputFiles("#photo", picture);
    await press(page.locator("button", { hasText: "Keep it" }));
    await look("photos");
    const wide = await page.locator("figure img").first().evaluate((it) => it.naturalWidth);
    if (!wide) complain(where, "the photo is not shown");
    await page.goto(`http://${host}/`);
    await option("What now?", "Enter readings");
    await option("Exhaust readings: how does the engine run?", "steady cruise");
    await values("Displays 1 to 6 at steady cruise, °C:", ["655", "648", "640", "651", "561", "658"]);
    await option("What now?", "Enter a test of my own choice");
    await look("tests");
    if (script) {
      await page.fill("#find", "depth marks");
      const left = await page.locator(".options button:visible").count();
      if (left !== 1) complain(where, `${left} tests have "depth marks"`);
    } else {
      await page.fill("#find", "depth marks");
      await press(page.locator(".find button"));
    }
    await option("Which test? Type a word of it to search.", "Look at depth marks");
    await look("engine");
    await option("On which one?", "cylinder 5");
    await look("how");
    await option("And now?", "Done");
    await look("outcomes");
    if (script) {
      const label = page.locator(".answer button", { hasText: "Sits shallower" }).first();
      const key = await label.getAttribute("data-k");
      await Promise.all([page.waitForNavigation(), page.keyboard.press(key)]);
    } else {
      await option("What did it show on cylinder 5?", "Sits shallower");
    }
    await asked("What now?");
    await option("What now?", "Enter a remedy");
    await option("What was put right?", "Probe not in far enough, cylinder 5");
    if (await page.locator("h1").first().innerText() === "Enter that look first?")
      await option("Enter that look first?", "no");
    await option("Was that done?", "yes");
    await values("Displays 1 to 6 at warm idle, °C:", ["510", "507", "499", "508", "503", "513"]);
    await option("What now?", "Enter readings");
    await option("Exhaust readings: how does the engine run?", "steady cruise");
    await values("Displays 1 to 6 at steady cruise, °C:", ["653", "649", "641", "650", "645", "657"]);
    await look("verified");
    await option("What now?", "More");
    await look("more");
    await option("More:", "Close the job");
    await option("Show the job card?", "no");
    await look("closed");
    await press(page.locator("a", { hasText: /^Card$/ }));
    if (!await page.locator("figure img").first().evaluate((it) => it.naturalWidth)) complain(where, "no photo on the card");
    await look("card-whole");
    await page.goto(`http://${host}/take-in`);
    await look("take-in");
    await page.goto(`http://${host}/invite`);
    await press(page.locator("button.first"));
    await look("invite-whole");
    console.log(`${where}: played; largest page ${largest} bytes`);
  } finally {
    await browser.close();
    served.child.kill();
    rmSync(folder, { recursive: true, force: true });
  }
}

// Rows of an invented six at a warm idle, a second of the log apart; display 5 reads as it is told.
function rows(from, count, fifth, speed = "800;8") {
  let text = "";
  for (let at = from; at < from + count; at += 1) {
    const shown = [1, 2, 3, 4, 5, 6].map((n) => ((n === 5 ? fifth : 160 + n) + ((at * n) % 7) * 0.1).toFixed(1));
    text += `${at};${speed};${shown.join(";")}\n`;
  }
  return text;
}

// The engine runs, and its log comes while the page is open.
async function watched(size, script, dark) {
  const [width, height] = size;
  const where = `live ${width}x${height} ${script ? "script" : "no script"}${dark ? " dark" : ""}`;
  const folder = mkdtempSync(path.join(tmpdir(), "hand-"));
  const jobs = path.join(folder, "jobs");
  mkdirSync(jobs);
  const open = (name, more) => spawnSync(program, ["open", name, "--state", "warm", "--jobs", jobs, ...more]);
  open("tractor", ["--cylinders", "6", "--fuel", "diesel", "--ignition", "none", "--builder-limit", "600"]);
  const served = await serve(folder, ["--watch", "-", "--job", "tractor", "--at", "idle"]);
  const host = new URL(served.address).host;
  const browser = await chromium.launch({ executablePath: "/usr/bin/chromium", args: SAFE });
  let count = 0;
  try {
    const page = await touched(browser, { width, height, script, dark, host, where });
    const look = async (name) => {
      for (const what of await page.evaluate(audit)) complain(`${where} ${name}`, what);
      if (shots) {
        const file = `live-${width}-${script ? "script" : "plain"}${dark ? "-dark" : ""}-${String(count++).padStart(2, "0")}-${name}.png`;
        await page.screenshot({ path: path.join(shots, file), fullPage: name.endsWith("whole") });
      }
    };
    // A page that looks again by itself may do so at the very moment.
    const press = async (locator) => {
      const aborted = (error) => { if (!String(error).includes("ERR_ABORTED")) throw error; };
      await Promise.all([page.waitForNavigation().catch(aborted), locator.tap()]);
    };
    const visit = async (address) => {
      for (;;) {
        try { await page.goto(address); return; } catch (error) { if (!String(error).includes("ERR_ABORTED")) throw error; }
      }
    };
    const there = (what) => page.locator(what).first().waitFor({ state: "attached" });
    await page.goto(served.address);
    await press(page.locator("button.first"));
    await press(page.locator("button", { hasText: "The jobs" }));
    await press(page.locator(".answer button[name=choice]", { hasText: "tractor" }).first());
    while (await page.locator("h1").first().innerText() === "How is the engine now?")
      await press(page.locator(".answer button[name=choice]", { hasText: "warm" }).first());
    // By itself, with a script and without one.
    served.child.stdin.write("time;rpm;load %;EGT 1;EGT 2;EGT 3;EGT 4;EGT 5;EGT 6\n" + rows(0, 60, 120));
    await there("#live svg");
    await look("displays");
    served.child.stdin.write(rows(60, 140, 120) + rows(200, 30, 120, "2400;60"));
    await there("#sets button");
    await look("settled");
    await look("settled-whole");
    await press(page.locator("#sets button").first());
    await there("text=In the job as entry");
    await look("entered");
    served.child.stdin.write(rows(230, 1, 612, "2400;60"));
    await there("#strip .stop");
    if (!(await page.title()).startsWith("STOP")) complain(where, "STOP is not in the title");
    await page.evaluate(() => scrollTo(0, 500));
    const box = await page.locator("#strip .stop").boundingBox();
    if (!box || box.y < -1 || box.y > 60) complain(where, "STOP is not in sight when scrolled");
    await look("stop");
    await visit(`http://${host}/live`);
    await look("live-whole");
    await visit(`http://${host}/card`);
    if (!await page.locator("#strip .stop").isVisible()) complain(where, "no STOP above the card");
    await visit(`http://${host}/live`);
    served.child.stdin.write(rows(231, 15, 120, "2400;60"));
    await page.locator("#strip .stop").waitFor({ state: "detached" });
    // Nothing comes any more, and that is said.
    await there("#live .notice");
    await look("old");
    if (script) {
      served.child.kill();
      await there("#strip.lost");
      await look("lost");
      found.splice(0, found.length, ...found.filter((what) => !what.includes("net::ERR_")));
    }
    console.log(`${where}: played`);
  } finally {
    await browser.close();
    served.child.kill();
    rmSync(folder, { recursive: true, force: true });
  }
}

(async () => {
  if (shots) mkdirSync(shots, { recursive: true });
  for (const size of SIZES)
    for (const script of [true, false]) await play(size, script, false);
  await play(SIZES[0], true, true);
  for (const script of [true, false]) await watched(SIZES[0], script, false);
  await watched(SIZES[1], true, true);
  for (const what of [...new Set(found)]) console.error(what);
  if (found.length) process.exit(1);
  console.log("the page in the hand: nothing found");
})().catch((error) => { console.error(error); process.exit(1); });
