// The customer's page in real Chromium: by keyboard alone, on a narrow screen, dark and light, in print,
// without script, and without a request that leaves it. Oracles: WCAG 2.2 (success criteria named at each
// check) and the rules of axe-core.
//
//   node tests/page/page.mjs PAGE.html …
//
// LEVERARM_PAGE_MODULES: folder in which `npm ci` was run (this one, where it is not said)
// LEVERARM_CHROMIUM: the browser (/usr/bin/chromium)
// LEVERARM_PAGE_PICTURES: folder for pictures, to look at
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { basename, dirname, join, resolve } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";

const here = dirname(fileURLToPath(import.meta.url));
const require = createRequire(join(resolve(process.env.LEVERARM_PAGE_MODULES ?? here), "package.json"));
const { chromium } = require("playwright-core");
const axeSource = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");
const pictures = process.env.LEVERARM_PAGE_PICTURES;

const BYTES_MAX = 300_000;
const SCHEMES = ["light", "dark"];
const WIDTHS = [320, 768, 1280];

let passed = 0;
let failed = 0;
function verdict(file, name, faults) {
  if (faults.length === 0) {
    passed += 1;
    return;
  }
  failed += 1;
  console.log(`${basename(file)}: ${name}`);
  for (const fault of faults.slice(0, 12)) console.log(`  ${fault}`);
}

/** Opens the page and lists whatever it asks for beside itself, and whatever its policy had to refuse. */
async function open(browser, file, options) {
  const context = await browser.newContext({ offline: false, ...options });
  const url = pathToFileURL(resolve(file)).href;
  const asked = [];
  await context.route("**/*", (route) => {
    const wanted = route.request().url();
    if (wanted.split("#")[0] === url) return route.continue();
    asked.push(`asks for ${wanted}`);
    return route.abort();
  });
  const page = await context.newPage();
  page.on("request", (request) => {
    const wanted = request.url();
    if (wanted.split("#")[0] !== url && !asked.includes(`asks for ${wanted}`)) asked.push(`asks for ${wanted}`);
  });
  page.on("console", (message) => {
    if (message.type() === "error" || message.type() === "warning") asked.push(`console: ${message.text()}`);
  });
  page.on("pageerror", (error) => asked.push(`error: ${error.message}`));
  page.on("dialog", (dialog) => {
    asked.push(`dialog: ${dialog.message()}`);
    return dialog.dismiss();
  });
  await page.goto(url, { waitUntil: "load" });
  return { context, page, asked };
}

/** The size and the bytes of the file. */
function bytes(file) {
  const text = readFileSync(file, "utf8");
  const faults = [];
  if (Buffer.byteLength(text) > BYTES_MAX) faults.push(`${Buffer.byteLength(text)} bytes`);
  // Within tags alone, and there without what stands in quotes: a text may speak of anything.
  const tags = (text.match(/<[^>]*>/g) ?? []).map((tag) => tag.replace(/"[^"]*"/g, '""')).join("");
  if (/<(script|img|link|iframe|object|embed|form|base)\b|\s(on[a-z]+|style|src)=/i.test(tags)) faults.push("holds what it must not hold");
  if (!/<meta http-equiv="Content-Security-Policy" content="default-src &#39;none&#39;;/.test(text)) faults.push("no strict policy");
  return faults;
}

/** 2.1.1 keyboard, 2.1.2 no trap, 2.4.3 order, 2.4.7 focus visible, 4.1.2 name: every row of every chart. */
async function keyboard(page) {
  const faults = [];
  const rows = await page.$$eval("a.row", (all) => all.map((row) => row.getAttribute("href")));
  const stops = await page.$$eval("a[href]", (all) => all.length);
  const reached = [];
  for (let i = 0; i < stops; i += 1) {
    await page.keyboard.press("Tab");
    const at = await page.evaluate(() => {
      const element = document.activeElement;
      const box = element.getBoundingClientRect();
      const style = getComputedStyle(element);
      const tip = element.querySelector(".tip");
      const tipBox = tip?.getBoundingClientRect();
      return {
        tag: element.tagName,
        row: element.classList.contains("row") ? element.getAttribute("href") : null,
        ring: style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2,
        seen: box.bottom > 0 && box.top < innerHeight && box.right <= innerWidth + 1,
        tip: tip && { opacity: getComputedStyle(tip).opacity, text: tip.textContent, width: tipBox.width,
          within: tip.scrollHeight <= tip.clientHeight + 1 && tipBox.left >= 0 && tipBox.right <= innerWidth + 1,
          onTop: tip.closest("figure").querySelector(".hint").getBoundingClientRect().top >= tipBox.top - 1 },
      };
    });
    if (!at.ring) faults.push(`stop ${i + 1} shows no focus`);
    if (!at.seen) faults.push(`stop ${i + 1} is out of sight`);
    if (at.row === null) continue;
    reached.push(at.row);
    if (at.tip.opacity !== "1") faults.push(`${at.row}: its numbers stay hidden`);
    if (!at.tip.onTop) faults.push(`${at.row}: its numbers and the hint show through each other`);
    if (!at.tip.within) faults.push(`${at.row}: its numbers do not fit`);
    if (!/mean deviation .*limit .*Verdict:/s.test(at.tip.text)) faults.push(`${at.row}: says “${at.tip.text}”`);
  }
  if (JSON.stringify(reached) !== JSON.stringify(rows)) faults.push(`reached ${reached}, not ${rows}`);
  await page.keyboard.press("Shift+Tab");
  await page.keyboard.press("Shift+Tab");
  if (await page.evaluate(() => document.activeElement === document.body)) faults.push("Shift+Tab leads nowhere");
  return faults;
}

/** 4.1.2: what a screen reader gets of each row, from the browser's own tree of accessibility. */
async function names(page) {
  const session = await page.context().newCDPSession(page);
  const { nodes } = await session.send("Accessibility.getFullAXTree");
  const links = nodes.filter((node) => node.role?.value === "link" && /mean deviation/.test(node.name?.value ?? ""));
  const rows = await page.$$eval("a.row", (all) => all.length);
  const cells = await page.$$eval("tbody td, tbody th", (all) => all.length);
  const known = nodes.filter((node) => ["cell", "gridcell", "rowheader"].includes(node.role?.value)).length;
  const faults = [];
  if (links.length !== rows) faults.push(`${links.length} of ${rows} rows have a name`);
  if (known !== cells) faults.push(`${known} of ${cells} cells are cells to a screen reader`);
  return faults;
}

/** Enter leads from a row of the chart to its line of the table. */
async function enter(page) {
  const row = await page.$("a.row");
  if (!row) return [];
  await row.focus();
  const target = await row.getAttribute("href");
  await page.keyboard.press("Enter");
  await page.waitForTimeout(100);
  const there = await page.evaluate(() => {
    const line = document.querySelector(":target");
    const box = line?.getBoundingClientRect();
    return line && { id: `#${line.id}`, seen: box.bottom > 0 && box.top < innerHeight };
  });
  return there?.id === target && there.seen ? [] : [`${target} was not reached: ${JSON.stringify(there)}`];
}

/** The pointer shows what the keyboard shows. */
async function pointer(page) {
  const faults = [];
  for (const row of await page.$$("a.row")) {
    await row.hover();
    const opacity = await row.$eval(".tip", (tip) => getComputedStyle(tip).opacity);
    if (opacity !== "1") faults.push("a row shows nothing to the pointer");
  }
  await page.mouse.move(0, 0);
  return faults;
}

/** 1.4.10 reflow: nothing wider than the screen. */
async function overflow(page) {
  return page.evaluate(() => {
    const wide = document.documentElement.clientWidth;
    const faults = [];
    if (document.documentElement.scrollWidth > wide) faults.push(`scrolls to ${document.documentElement.scrollWidth} of ${wide} px`);
    for (const element of document.querySelectorAll("body *")) {
      if (element.closest("thead") || element.closest("svg")) continue;
      const box = element.getBoundingClientRect();
      if (box.right > wide + 1 || box.left < -1) faults.push(`${element.tagName}.${element.className} reaches from ${box.left} to ${box.right}`);
    }
    return faults;
  });
}

/** Text of a chart stays within its drawing and its labels do not run into each other. */
async function chartText(page) {
  return page.evaluate(() => {
    const faults = [];
    for (const axis of document.querySelectorAll(".axis")) {
      const boxes = [...axis.querySelectorAll("text")].map((text) => text.getBoundingClientRect());
      boxes.forEach((box, i) => {
        if (i > 0 && box.left < boxes[i - 1].right + 2) faults.push("labels of the scale touch");
        if (box.right > innerWidth || box.left < 0) faults.push("a label of the scale is cut");
      });
    }
    return faults;
  });
}

/** 1.4.3 contrast, by formula, for every element that shows text (axe leaves some undecided). */
async function contrast(page) {
  return page.evaluate(() => {
    const parse = (colour) => colour.match(/[\d.]+/g).map(Number);
    const channel = (c) => (c / 255 <= 0.04045 ? c / 255 / 12.92 : ((c / 255 + 0.055) / 1.055) ** 2.4);
    const light = ([r, g, b]) => 0.2126 * channel(r) + 0.7152 * channel(g) + 0.0722 * channel(b);
    const behind = (element) => {
      for (let at = element; at; at = at.parentElement) {
        const colour = parse(getComputedStyle(at).backgroundColor);
        if (colour.length === 3 || colour[3] === 1) return colour;
      }
      return [255, 255, 255];
    };
    const faults = new Set();
    for (const element of document.querySelectorAll("body *")) {
      const own = [...element.childNodes].some((node) => node.nodeType === 3 && node.data.trim());
      if (!own) continue;
      const style = getComputedStyle(element);
      const ink = parse(element.closest("svg") ? style.fill : style.color);
      const [a, b] = [light(ink), light(behind(element))];
      const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
      if (ratio < 4.5) faults.add(`${element.tagName}.${element.className}: ${ratio.toFixed(2)} to 1`);
    }
    return [...faults];
  });
}

/** The rules of axe-core for WCAG 2.0 to 2.2, levels A and AA, and good practice. */
async function axe(page) {
  await page.evaluate(axeSource);
  const { violations } = await page.evaluate(() =>
    window.axe.run(document, {
      runOnly: { type: "tag", values: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] },
      resultTypes: ["violations"],
    }));
  return violations.map((v) => `${v.id} (${v.impact}): ${v.help}; ${v.nodes[0].html.slice(0, 120)}`);
}

async function print(page) {
  const faults = [];
  await page.emulateMedia({ media: "print", colorScheme: "dark" });
  faults.push(...(await page.evaluate(() => {
    const shown = (selector) => [...document.querySelectorAll(selector)].some((e) => e.getClientRects().length > 0);
    const found = [];
    if (shown(".tip") || shown(".hint") || shown("nav")) found.push("prints what only a screen needs");
    if (!shown("h1") || !shown("table") || !shown(".strip")) found.push("leaves out what belongs on paper");
    if (getComputedStyle(document.body).color !== "rgb(0, 0, 0)") found.push("prints in the colours of the night");
    return found;
  })));
  const pdf = await page.pdf({ format: "A4", preferCSSPageSize: false });
  const sheets = pdf.toString("latin1").match(/\/Type\s*\/Page\b/g)?.length ?? 0;
  if (!pdf.subarray(0, 5).equals(Buffer.from("%PDF-"))) faults.push("is no PDF");
  if (sheets < 1 || sheets > 20) faults.push(`${sheets} sheets`);
  await page.emulateMedia({ media: "screen", colorScheme: "light" });
  return { faults, pdf };
}

async function calm(page) {
  await page.emulateMedia({ reducedMotion: "reduce" });
  const found = await page.evaluate(() => ({
    smooth: getComputedStyle(document.documentElement).scrollBehavior,
    moving: document.getAnimations().length,
  }));
  return found.smooth === "auto" && found.moving === 0 ? [] : [JSON.stringify(found)];
}

async function text(page) {
  return page.evaluate(() => document.body.innerText);
}

async function withoutScript(browser, file) {
  const script = await open(browser, file, { viewport: { width: 1280, height: 800 } });
  const plain = await open(browser, file, { viewport: { width: 1280, height: 800 }, javaScriptEnabled: false });
  const faults = [...plain.asked];
  const [a, b] = [await text(script.page), await text(plain.page)];
  if (a !== b || a.length < 2000) faults.push("reads otherwise without script");
  faults.push(...(await keyboard(plain.page)));
  await script.context.close();
  await plain.context.close();
  return faults;
}

async function keep(page, file, name) {
  if (!pictures) return;
  mkdirSync(pictures, { recursive: true });
  await page.screenshot({ path: join(pictures, `${basename(file, ".html")}-${name}.png`), fullPage: true });
}

async function examine(browser, file) {
  verdict(file, "bytes", bytes(file));
  verdict(file, "without script", await withoutScript(browser, file));
  for (const colorScheme of SCHEMES) {
    for (const width of WIDTHS) {
      const { context, page, asked } = await open(browser, file, { viewport: { width, height: 800 }, colorScheme });
      const name = `${colorScheme}, ${width} px`;
      verdict(file, `${name}: contrast`, await contrast(page));
      verdict(file, `${name}: accessibility`, await axe(page));
      verdict(file, `${name}: width`, [...(await overflow(page)), ...(await chartText(page))]);
      await keep(page, file, `${colorScheme}-${width}`);
      verdict(file, `${name}: keyboard`, await keyboard(page));
      verdict(file, `${name}: names`, await names(page));
      verdict(file, `${name}: pointer`, await pointer(page));
      verdict(file, `${name}: enter`, await enter(page));
      verdict(file, `${name}: calm`, await calm(page));
      verdict(file, `${name}: requests`, asked);
      await context.close();
    }
  }
  const { context, page, asked } = await open(browser, file, { viewport: { width: 1280, height: 800 } });
  const { faults, pdf } = await print(page);
  verdict(file, "print", faults);
  if (pictures) writeFileSync(join(pictures, `${basename(file, ".html")}.pdf`), pdf);
  await page.emulateMedia({ forcedColors: "active" });
  verdict(file, "forced colours: keyboard", await keyboard(page));
  await page.emulateMedia({ forcedColors: "none" });
  // 1.4.12: the reader's own spacing of text, also where the page is zoomed to twice its size (1.4.4: 640 of
  // 1280 px) and to four times (1.4.10: 320 of 1280 px).
  await page.evaluate(() => {
    const sheet = new CSSStyleSheet();
    sheet.replaceSync("*{line-height:1.5!important;letter-spacing:.12em!important;word-spacing:.16em!important} p{margin-bottom:2em!important}");
    document.adoptedStyleSheets = [sheet];
  });
  for (const width of [1280, 880, 768, 640, 320]) {
    await page.setViewportSize({ width, height: 800 });
    verdict(file, `spaced text, ${width} px`, await overflow(page));
  }
  verdict(file, "requests", asked);
  await context.close();
}

const files = process.argv.slice(2);
if (files.length === 0) {
  console.error("usage: node tests/page/page.mjs PAGE.html …");
  process.exit(2);
}
const browser = await chromium.launch({
  executablePath: process.env.LEVERARM_CHROMIUM ?? "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-background-networking"],
});
try {
  for (const file of files) await examine(browser, file);
} finally {
  await browser.close();
}
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed === 0 ? 0 : 1);
