// One whole job on a phone with no signal: from an empty app to a printed record, the server stopped after the first visit.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import { choose, describeLark, enter, goOn, heading, onScreen, primary, tickOn, touch, verdicts, voltageHolds } from "./app.mjs";
import { Site, axe, openBrowser, tempDir, troubles, until, untilDrawn, untilOffline, visit } from "./lib.mjs";

test("a job from an empty app to its record, with no signal", async (t) => {
  const site = await Site.start(t);
  const profile = tempDir(t);
  const browser = await openBrowser(t, profile);
  const first = await visit(browser, site.url);
  await untilOffline(first, "ready");
  await first.close();
  await site.stop();

  const page = await visit(browser, site.url);
  const trouble = troubles(page);
  const looked = [];
  const look = async (name) => {
    looked.push(name);
    assert.deepEqual(await axe(page), [], `axe on ${name}`);
  };
  await look("home");

  // 1: the site, typed in by hand.
  await describeLark(page);
  await look("job");

  // 2: what to take along, and what to isolate first.
  await primaryOfJob(page).click();
  await onScreen(page, "Lay out everything");
  const list = await page.locator(".take-along li").allInnerTexts();
  for (const part of ["bus lead", "2 × link lead", "2 × plug-in terminator", "open plug or breakout", "Multimeter", "Insulated tools"]) {
    assert.ok(list.some((line) => line.includes(part)), `${part} is not in ${list.join(" | ")}`);
  }
  await page.getByText("Isolate first").waitFor();
  await look("take along");

  // 3: the cards in order, each with a tick.
  const ticked = await tickOn(page);
  for (const action of ["Switch off every source", "Plug a link lead", "from module 2 to module 3", "marked BATTERY", "free data socket at the bank's free end", "open plug or breakout"]) {
    assert.ok(ticked.some((line) => line.includes(action)), `${action} is not in ${ticked.join(" | ")}`);
  }

  // 4: volts, then ohms.
  await onScreen(page, "Measure volts first");
  await look("volts");
  await enter(page, { "Volts, wire H to wire L": "1 mV", "Volts, wire H to reference": "0.02", "Volts, wire L to reference": "-0,01" });
  await until(page, () => document.querySelectorAll(".badge-holds").length === 3);
  await primary(page).click();
  await onScreen(page, "Measure ohms");
  await enter(page, { "Ohms, wire H to wire L": "118.6" });
  await page.getByText("what one terminator reads").waitFor();
  assert.deepEqual(await verdicts(page), ["Fails"]);
  const story = await page.locator(".finding").innerText();
  assert.match(story, /One of the two terminators is missing/);
  assert.match(story, /one data wire is open between the ends/);
  assert.match(story, /this reading cannot tell/);
  assert.match(story, /Look at both ends/);
  await look("one terminator seen");
  await enter(page, { "Ohms, wire H to wire L": "60,4 Ω" });
  await page.getByText("what this bus may read").waitFor();
  assert.deepEqual(await verdicts(page), ["Holds"]);
  assert.match(await page.locator(".because").innerText(), /60\.4.Ω lies in 57\.\d.Ω to 65\.\d.Ω/);
  await page.locator(".rests summary").click();
  await page.getByText("Two terminators of 118 to 130").waitFor();
  assert.equal(await page.getByLabel("Ohms, wire H to wire L").inputValue(), "60,4 Ω", "what was typed stays");
  await look("ohms hold");
  await primary(page).click();

  // 5: wake, profile, source.
  const woken = await tickOn(page);
  for (const action of ["Press the button on each of the 3", "made for battery data", "Choose the bank as the source"]) {
    assert.ok(woken.some((line) => line.includes(action)), `${action} is not in ${woken.join(" | ")}`);
  }

  // 6: the numbers.
  await onScreen(page, "how many modules answer");
  await enter(page, { "How many modules answer?": "2", "Nameplate capacity shown": "460" });
  await page.getByText("one module is missing from the sums").waitFor();
  assert.deepEqual(await verdicts(page), ["Fails", "Fails"]);
  await enter(page, { "How many modules answer?": "3", "Nameplate capacity shown": "690 Ah" });
  await until(page, () => document.querySelectorAll(".badge-holds").length === 2);
  await primary(page).click();
  await onScreen(page, "state of charge");
  await choose(page, "Has each module been charged full", "Not yet");
  await enter(page, { "State of charge shown": "80", "Remaining charge shown": "500" });
  await page.getByText("look again after the first full charge").waitFor();
  assert.deepEqual(await verdicts(page), ["Look again", "Look again", "Look again"]);
  await look("not yet calibrated");
  await enter(page, { "Remaining charge shown": "552" });
  await until(page, () => document.querySelectorAll(".badge-holds").length === 2);
  await voltageHolds(page);
  await choose(page, "With the load on", "Into the bank");
  await page.getByText("the sign is reversed").waitFor();
  await choose(page, "With the load on", "Out of the bank");
  await page.getByText("the sign is right").waitFor();
  await goOn(page);
  await tickOn(page);
  await onScreen(page, "Lark, by hand");

  // 7: the record, on screen and on paper.
  await page.locator("main").getByRole("link", { name: /^Record/ }).click();
  await onScreen(page, "Record");
  await look("record");
  const record = await page.locator("main").innerText();
  for (const text of ["Lark, by hand", "60.4", "690", "Not yet calibrated", "Earlier readings", "118.6", "AN96116"]) {
    assert.ok(record.includes(text), `${text} is not in the record`);
  }
  const pdf = join(tempDir(t), "record.pdf");
  for (const [format, size] of [["A4", /59[45]\.?\d* x 84[12]\.?\d* pts/], ["Letter", /612 x 792 pts/]]) {
    writeFileSync(pdf, await page.pdf({ format, printBackground: false }));
    assert.match(execFileSync("pdfinfo", [pdf], { encoding: "utf8" }), size);
    const pages = execFileSync("pdftotext", [pdf, "-"], { encoding: "utf8" }).split("\f");
    const printed = pages.join(" ").replace(/\s+/g, " ");
    for (const text of ["Lark, by hand", "60.4", "Holds", "Look again", "does not say that an installation may be used", "The code holds this whole job"]) {
      assert.ok(printed.includes(text), `${text} is not on ${format} paper`);
    }
    assert.ok(!printed.includes("Jobs Measure Alarms Read"), "the bar at the thumb is on paper");
    // A check is not cut: its name, its reading and its window stand on one page.
    const page60 = pages.filter((text) => text.includes("Ohms between the data wires, monitor's end") && text.includes("60.4"));
    assert.ok(page60.some((text) => text.includes("Must read 57.9 Ω to 65.1 Ω")), `a check is cut on ${format} paper`);
  }

  // 8: reload, close, reopen: still there, and the server is still stopped.
  await page.reload();
  await untilDrawn(page);
  await onScreen(page, "Lark, by hand");
  await browser.close();
  const again = await openBrowser(t, profile);
  const reopened = await visit(again, `${site.url}#/jobs`);
  await reopened.getByText("Lark, by hand").first().click();
  await onScreen(reopened, "Lark, by hand");
  await reopened.locator("main").getByRole("link", { name: /^Record/ }).click();
  await onScreen(reopened, "Record");
  assert.match(await reopened.locator("main").innerText(), /60\.4/);
  assert.deepEqual(trouble, [], "errors on the console");
  assert.equal(await heading(reopened).count(), 1);
  t.diagnostic(`axe looked at ${looked.length} screens on the way`);
});

const primaryOfJob = (page) => page.locator(".next .primary");
