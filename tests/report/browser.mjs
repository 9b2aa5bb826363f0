// The report in a real browser: node browser.mjs REPORT.html BUDGET.json CHROMIUM
// Checks that it loads nothing, says nothing on the console, walks by keys, equals the budget, and is accessible.
// Needs playwright-core and axe-core beside it; see run.sh.
import { strict as assert } from "node:assert";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const [report, budgetFile, executablePath] = process.argv.slice(2);
const budget = JSON.parse(readFileSync(budgetFile, "utf8"));
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const browser = await chromium.launch({
  executablePath,
  headless: true,
  args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync"],
});

/** A page with the report in it, and everything that it asked for or complained about. */
const open = async (options) => {
  const context = await browser.newContext(options);
  const page = await context.newPage();
  const noise = [];
  page.on("console", (message) => noise.push(`console: ${message.text()}`));
  page.on("pageerror", (error) => noise.push(`error: ${error}`));
  page.on("request", (request) => {
    if (!request.url().startsWith("data:") && request.url() !== pathToFileURL(report).href) noise.push(`request: ${request.url()}`);
  });
  await page.goto(pathToFileURL(report).href);
  return { context, page, noise };
};

const wide = { viewport: { width: 1120, height: 900 } };
const pointer = (path) => path.split("/").slice(1).map((part) => part.replaceAll("~1", "/").replaceAll("~0", "~"))
  .reduce((value, part) => value?.[part], budget);

try {
  {
    const { context, page, noise } = await open(wide);
    const figures = await page.$$eval("data[data-figure]", (all) => all.map((one) => [one.dataset.figure, Number(one.value)]));
    assert.ok(figures.length > 100, `only ${figures.length} figures`);
    for (const [path, value] of figures) assert.equal(value, pointer(path), path);

    const shown = () => page.$$eval(".instrument", (all) => all.filter((one) => one.offsetParent).map((one) => one.id));
    const home = await shown();
    assert.equal(home.length, 1, "one screen at a time");
    // Every key of every transition of the budget leads where the budget says, from the screen's first picture.
    const ids = budget.screens.map((screen) => screen.id);
    // A key that leaves all as it is (one step past an end) has no link.
    const moves = (way) => way.from !== way.to || way.changed_px > 0;
    const keys = budget.transitions.filter((way) => way.trigger.startsWith("key ") && moves(way));
    for (const way of keys) {
      const [from, to] = [ids.indexOf(way.from), ids.indexOf(way.to)];
      const key = page.locator(`#w${from} a[data-key="${way.trigger.slice(4)}"]`);
      await key.evaluate((link) => link.click());
      const [now] = await shown();
      assert.equal(now.split("-")[0], `w${to}`, `${way.from} by ${way.trigger}`);
      const said = await page.textContent("#walk-said");
      assert.match(said, way.changed_px === 0 ? /Nothing changes/ : way.mode === "full" ? /Full refresh/ : /Partial refresh/);
    }
    await page.click("#walk-home");
    assert.deepEqual(await shown(), home, "start again");

    // What comes from outside: the charge has a link for each stretch in which the device acts alike; the link is lost and
    // found again. Only the demo is sure to have these.
    for (const [said, id] of [[/^charge \d+ %: .*[Bb]attery/, "low"], [/^the link is lost/, "lost"]]) {
      if (!ids.includes(id)) continue;
      await page.click("#walk-home");
      await page.locator(`#${home[0]} a.way`).filter({ hasText: said }).first().click();
      const [now] = await shown();
      assert.equal(now.split("-")[0], `w${ids.indexOf(id)}`, `${said}`);
    }
    await page.click("#walk-home");

    // By the keyboard alone: the focus follows the picture, number keys press.
    const first = keys.find((way) => ids.indexOf(way.from) === Number(home[0].slice(1)) && way.to !== way.from);
    await page.focus(`#${home[0]} a.key`);
    await page.keyboard.press(first.trigger.slice(4));
    const [second] = await shown();
    // The state that the key leads to may be another than the screen's first one.
    assert.equal(second.split("-")[0], `w${ids.indexOf(first.to)}`);
    assert.ok(await page.evaluate((id) => document.getElementById(id).contains(document.activeElement), second), "focus follows");

    // At the true pace a press takes the budget's time.
    await page.click("#walk-home");
    await page.check("#walk-pace");
    const begun = Date.now();
    await page.click(`#${home[0]} a[data-key="${first.trigger.slice(4)}"]`);
    await page.waitForSelector(`#${second}.now`);
    const took = (Date.now() - begun) / 1000;
    // No sooner; later only as far as the machine is busy.
    assert.ok(took >= first.latency_s && took < first.latency_s + 30, `${took} s instead of ${first.latency_s} s`);
    assert.deepEqual(noise, []);
    await context.close();
  }

  for (const colorScheme of ["light", "dark"]) {
    const { context, page, noise } = await open({ ...wide, colorScheme });
    await page.$$eval("details", (all) => all.forEach((one) => { one.open = true; }));
    await page.evaluate(axe);
    const result = await page.evaluate(() => window.axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "best-practice"] }));
    const found = result.violations.map((one) => `${one.impact} ${one.id}: ${one.help}\n    ${one.nodes.slice(0, 3).map((node) => node.html).join("\n    ")}`);
    assert.ok(result.passes.length > 20, "the accessibility check ran");
    assert.deepEqual(found, [], `${colorScheme}:\n${found.join("\n")}`);
    assert.deepEqual(noise, []);
    await context.close();
  }

  {
    // In the order of the flow, folded; every part of the contact sheet leads to a screen, and paths stay whole.
    const { context, page } = await open({ viewport: { width: 400, height: 800 } });
    // On a narrow page the map is as large as it is drawn, in a part of its own that scrolls: its letters are legible.
    const small = await page.$$eval(".map text", (all) => Math.min(...all.map((one) => one.getBoundingClientRect().height)));
    // The browser lays out in 64ths of a pixel.
    assert.ok(small >= 11 - 1 / 64, `letters of ${small} px in the map`);
    const [map, room] = await page.$eval(".map", (one) => [one.scrollWidth, one.clientWidth]);
    assert.ok(map > 2 * room && room <= 400, `${map} px in ${room}`);
    assert.ok(!await page.isVisible("#flow-whole"));
    const sheet = await page.$$eval(".sheet a", (all) => all.map((one) => one.hash));
    const parts = await page.$$eval("article.screen", (all) => all.map((one) => `#${one.id}`));
    assert.deepEqual(sheet, parts);
    assert.equal(sheet.length, budget.screens.length);
    const order = await page.$$eval("main > section", (all) => all.map((one) => one.id));
    assert.deepEqual(order.slice(0, 3), ["short", "sheet", "flow"]);
    assert.equal(await page.locator("details[open]").count(), 0);
    const paths = await page.$$eval(".path", (all) => all.map((one) => [one.textContent, one.getClientRects().length, one.scrollWidth - one.clientWidth, one.offsetHeight]));
    assert.ok(paths.length > 20);
    for (const [path, , over, height] of paths) assert.ok(over <= 0 && height < 40, `${path} is broken over lines`);
    // Each shared exit shows its image once; tables with many columns are no wider than the page; letters of plots are legible.
    await page.$$eval("details", (all) => all.forEach((one) => { one.open = true; }));
    const exits = await page.$$eval("#screens > details", (all) => all.map((one) => one.querySelectorAll(".thumb").length));
    for (const images of exits) assert.equal(images, 1, "an exit's image stands once");
    const over = await page.$$eval(".wide:not(.map):not(.over-time)", (all) => all.filter((one) => one.scrollWidth > one.clientWidth + 1).map((one) => one.getAttribute("aria-label")));
    assert.deepEqual(over.filter((name) => !/omparison|differ/.test(name)), [], "tables wider than a narrow page");
    // Paths in sentences begin a line where they do not fit; no cell is wider than its column, no place of a window parted.
    const codes = await page.$$eval("main code", (all) => all.filter((one) => one.getClientRects().length).map((one) => {
      const free = one.cloneNode(true);
      free.style.cssText = "position: absolute; max-width: none; white-space: nowrap";
      one.parentElement.append(free);
      const [lines, fits] = [one.offsetHeight / free.offsetHeight, free.offsetWidth <= one.parentElement.clientWidth];
      free.remove();
      return [one.textContent, lines, fits];
    }));
    assert.deepEqual(codes.filter(([, lines, fits]) => fits && lines > 1.5).map(([text]) => text), [], "codes that are parted");
    const cells = await page.$$eval("td, th, dd, dt", (all) => all.filter((one) => one.clientWidth > 1 && one.scrollWidth > one.clientWidth + 1).map((one) => one.textContent));
    assert.deepEqual(cells, [], "cells wider than their columns");
    const windows = await page.$$eval(".ways td .faint", (all) => all.filter((one) => one.getClientRects().length > 2).map((one) => one.textContent));
    assert.deepEqual(windows, [], "windows that are parted more than once");
    const letters = await page.$$eval(".drawn text, .sweep text", (all) => all.filter((one) => one.getClientRects().length).map((one) => one.getBoundingClientRect().height));
    assert.ok(letters.length > 20 && Math.min(...letters) >= 11, `letters of ${Math.min(...letters)} px in a plot`);
    await context.close();
  }

  {
    // On a wide page it fits as an overview, wider than the text, and is as large as it is drawn where one asks for it.
    const { context, page } = await open({ viewport: { width: 1280, height: 900 } });
    const mapWidth = () => page.$eval(".map .plot", (map) => map.getBoundingClientRect().width);
    const overview = await mapWidth();
    assert.ok(overview <= 1280 && overview > 1000, `${overview} px`);
    assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), "the page does not scroll sideways");
    await page.check("#flow-whole");
    assert.ok(await mapWidth() > 1.3 * overview, `${await mapWidth()} px after ${overview} px`);
    const order = await page.$$eval("main > section", (all) => all.map((one) => one.id));
    assert.deepEqual(order.slice(0, 4), ["short", "sheet", "flow", "result"]);
    await context.close();
  }

  {
    const { context, page } = await open({ viewport: { width: 360, height: 740 } });
    const [across, room] = await page.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
    assert.ok(across <= room, `a narrow page scrolls sideways: ${across} in ${room}`);
    await context.close();
  }

  {
    const { context, page } = await open({ ...wide, javaScriptEnabled: false });
    const seen = await page.locator(".instrument:visible").count();
    assert.equal(seen, budget.screens.length, "without the script every screen is there");
    assert.equal(await page.locator(".script-only:visible").count(), 0, "and nothing that needs it");
    await context.close();
  }

  {
    const { context, page } = await open(wide);
    await page.emulateMedia({ media: "print" });
    assert.equal(await page.locator("article.screen:visible").count(), budget.screens.length, "every screen is printed");
    assert.equal(await page.locator(".instrument:visible").count(), 0, "nothing to click is printed");
    assert.equal(await page.locator("nav:visible").count(), 0);
    assert.equal(await page.locator("table.ways:visible").count(), await page.locator("table.ways").count(), "nothing stays folded");
    await context.close();
  }
} finally {
  await browser.close();
}
console.log("the report holds in a browser");
