// The list of jobs: found and parted, duplicated, put away, deleted and brought back; and deleted for good, whatever
// happens between the two stores.

import assert from "node:assert/strict";
import { test } from "node:test";
import { demoInTwoTabs, describeLark, kept, onScreen, openDemo, touch, type } from "./app.mjs";
import { Site, axe, openBrowser, tempDir, troubles, until, untilDrawn, untilOffline, visit } from "./lib.mjs";

const names = (page) => page.locator(".jobs .row-title").evaluateAll((all) => all.map((one) => one.firstChild.textContent));
const toJobs = async (page) => {
  await page.locator(".destinations a", { hasText: "Jobs" }).click();
  await onScreen(page, "Jobs");
};
const actions = (page, name) => page.getByRole("button", { name: `What can be done with ${name}`, exact: true }).click();
const act = (page, action) => page.locator(".job-action", { hasText: action }).first().click();
const filter = (page, key) => page.locator(`.jobs-filter input[value="${key}"]`).check({ force: true });

/** Puts jobs into both stores, as copies of one that the app has made: { id: change }. */
async function plant(page, jobs) {
  await page.evaluate(async (jobs) => {
    const [, model] = Object.entries(localStorage).find(([key]) => key.startsWith("ohms.job."));
    const database = await new Promise((done) => {
      const request = indexedDB.open("ohms");
      request.onsuccess = () => done(request.result);
    });
    for (const [id, change] of Object.entries(jobs)) {
      const text = JSON.parse(model);
      Object.assign(text.job, { id, begun: Date.UTC(2025, 0, 1) + Object.keys(jobs).indexOf(id) }, change);
      if (change.name) text.job.site.name = change.name;
      delete text.job.name;
      const plain = JSON.stringify(text);
      localStorage.setItem(`ohms.job.${id}`, plain);
      await new Promise((done) => {
        const transaction = database.transaction("jobs", "readwrite");
        transaction.objectStore("jobs").put(plain, id);
        transaction.oncomplete = done;
      });
    }
    database.close();
  }, jobs);
}

test("jobs are found by name, place, equipment and notes, without signal; and parted by their state", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  let page = await visit(browser, site.url);
  await untilOffline(page, "ready");
  await openDemo(page, "Lark");
  await page.waitForTimeout(600);
  const volts = ["pair-volts", "high-to-reference-volts", "low-to-reference-volts"].map((check) => (
    { of: { check }, at: 1, seen: { figure: { figure: { kind: "volts", value: 0.001 }, digit: 0.001 } }, typed: "0.001" }));
  const ohms = { of: { check: "pair-ohms-at-monitor" }, at: 2, seen: { figure: { figure: { kind: "ohms", value: 118.6 }, digit: 0.1 } }, typed: "118.6" };
  await plant(page, {
    plain: { name: "Señora" },
    fails: { name: "Ångström", observations: [...volts, ohms] },
    away: { name: "Old barge", archived: true },
    noted: { name: "Van", notes: "The shunt sits behind the LOCKER", people: { by: "", owner: "Jürgen", place: "Quai 7" } },
    newest: { name: "Zoë" },
  });
  await site.stop();
  await page.close();
  page = await browser.newPage();
  await page.goto(`${site.url}#/jobs`);
  await untilDrawn(page);
  const trouble = troubles(page);
  assert.deepEqual((await names(page)).slice(1), ["Zoë", "Van", "Ångström", "Señora"]);
  for (const [typed, expected] of [["senora", ["Señora"]], ["ZOE", ["Zoë"]], ["angstrom", ["Ångström"]], ["jurgen quai", ["Van"]], ["locker SHUNT", ["Van"]]]) {
    await type(page, "Find a job", typed);
    await until(page, (expected) => document.querySelectorAll(".jobs > li").length === expected, expected.length);
    assert.deepEqual(await names(page), expected, typed);
  }
  await type(page, "Find a job", "window 2");
  await until(page, () => document.querySelectorAll(".jobs > li").length === 5);
  await type(page, "Find a job", "no such thing");
  await page.getByText("No job here fits.").waitFor();
  await type(page, "Find a job", "");
  await filter(page, "fails");
  await until(page, () => document.querySelectorAll(".jobs > li").length === 1);
  assert.deepEqual(await names(page), ["Ångström"]);
  assert.match(await page.locator(".jobs .badge").innerText(), /Fails/);
  await filter(page, "away");
  await until(page, () => document.querySelector(".jobs .row-title")?.textContent.startsWith("Old barge"));
  await filter(page, "done");
  await page.getByText("No job here fits.").waitFor();
  await filter(page, "all");
  // What was looked for stays while a job is looked at.
  await type(page, "Find a job", "van");
  await page.locator(".jobs .job-row").click();
  await onScreen(page, "Van");
  await page.goBack();
  await onScreen(page, "Jobs");
  assert.equal(await page.getByLabel("Find a job").inputValue(), "van");
  assert.deepEqual(await axe(page), []);
  assert.deepEqual(trouble, []);
});

test("duplicated, put away, brought back", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const page = await visit(browser, site.url);
  await openDemo(page, "Lark");
  const job = page.url().match(/#\/job\/([^/]+)/)[1];
  await page.evaluate((hash) => { location.hash = hash; }, `#/job/${job}/notes`);
  await type(page, "Notes for the next person", "Mind the step");
  await toJobs(page);
  const name = (await names(page))[0];
  await actions(page, name);
  assert.deepEqual(await axe(page), []);
  await act(page, "Duplicate");
  await until(page, () => document.querySelectorAll(".jobs > li").length === 2);
  await actions(page, name);
  await act(page, "Same site");
  await until(page, () => document.querySelectorAll(".jobs > li").length === 3);
  await page.waitForTimeout(700);
  const jobs = Object.values((await kept(page)).local).map((text) => JSON.parse(text).job);
  const copies = jobs.filter((one) => one.site.name.endsWith(", copy"));
  assert.deepEqual(copies.map((one) => one.notes).sort(), ["", "Mind the step"]);
  assert.equal(new Set(jobs.map((one) => one.id)).size, 3);
  await actions(page, name);
  await act(page, "Put away");
  await until(page, () => document.querySelectorAll(".jobs > li").length === 2);
  await filter(page, "away");
  await until(page, () => document.querySelectorAll(".jobs > li").length === 1);
  await actions(page, name);
  await act(page, "Bring back");
  await page.getByText("No job here fits.").waitFor();
  await filter(page, "all");
  await until(page, () => document.querySelectorAll(".jobs > li").length === 3);
});

test("deleted with undo: it stays in both stores until then, and another tab sees it go", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const one = await visit(browser, site.url);
  await describeLark(one);
  const job = one.url().match(/#\/job\/([^/]+)/)[1];
  await one.waitForTimeout(600);
  await toJobs(one);
  await actions(one, "Lark, by hand");
  await act(one, "Delete");
  await one.getByText("Deleted: Lark, by hand").waitFor();
  await until(one, () => document.querySelectorAll(".jobs > li").length === 0);
  assert.deepEqual(await axe(one), []);
  const before = await kept(one);
  assert.equal(JSON.parse(before.local[job]).job.site.name, "Lark, by hand");
  assert.equal(JSON.parse(before.mirror[job]).job.site.name, "Lark, by hand");
  await touch(one, "Undo");
  await until(one, () => document.querySelectorAll(".jobs > li").length === 1);

  const two = await visit(browser, `${site.url}#/job/${job}`);
  await onScreen(two, "Lark, by hand");
  await actions(one, "Lark, by hand");
  await act(one, "Delete");
  // The undo's time passes.
  await onScreen(two, "This job is not on this phone");
  await until(one, () => !document.querySelector(".undo"));
  await one.waitForTimeout(300);
  const { local, mirror } = await kept(one);
  for (const text of [local[job], mirror[job]]) {
    const gone = JSON.parse(text);
    assert.equal(gone.gone, true);
    assert.equal(gone.job.site.name, "", "nothing of it is left");
  }
  await one.reload();
  await untilDrawn(one);
  assert.deepEqual(await names(one), []);
  await one.getByText("No job yet.").waitFor();
});

test("a browser that dies between the two stores does not bring a deleted job back", async (t) => {
  const site = await Site.start(t);
  for (const behind of ["local", "mirror"]) {
    const profile = tempDir(t);
    const browser = await openBrowser(t, profile);
    const page = await visit(browser, site.url);
    await openDemo(page, "Lark");
    const job = page.url().match(/#\/job\/([^/]+)/)[1];
    await page.waitForTimeout(600);
    const before = (await kept(page)).local[job];
    await toJobs(page);
    await actions(page, (await names(page))[0]);
    await act(page, "Delete");
    // The page is left: deleted at once, in both.
    await page.evaluate(() => window.dispatchEvent(new Event("pagehide")));
    await page.waitForTimeout(300);
    // One of the two stores is set back to what it held before, as if it had never been written out.
    await page.evaluate(async ([behind, job, before]) => {
      if (behind === "local") localStorage.setItem(`ohms.job.${job}`, before);
      else {
        const database = await new Promise((done) => {
          const request = indexedDB.open("ohms");
          request.onsuccess = () => done(request.result);
        });
        await new Promise((done) => {
          const transaction = database.transaction("jobs", "readwrite");
          transaction.objectStore("jobs").put(before, job);
          transaction.oncomplete = done;
        });
        database.close();
      }
    }, [behind, job, before]);
    await page.close();
    const again = await browser.newPage();
    await again.goto(`${site.url}#/jobs`);
    await untilDrawn(again);
    await again.getByText("No job yet.").waitFor();
    const { local, mirror } = await kept(again);
    assert.equal(JSON.parse(local[job]).gone, true, `${behind} was behind`);
    assert.equal(JSON.parse(mirror[job]).gone, true, `${behind} was behind`);
  }
});

test("a job changed in another tab while it is deleted here is not lost", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const { one, two, job } = await demoInTwoTabs(browser, site);
  await onScreen(two, "Notes");
  await toJobs(one);
  // The other tab's clock stands still: what is typed there is not written yet.
  await two.clock.install();
  await two.clock.pauseAt(Date.now() + 60_000);
  await type(two, "Notes for the next person", "still needed");
  await actions(one, (await names(one))[0]);
  await act(one, "Delete");
  await one.evaluate(() => window.dispatchEvent(new Event("pagehide")));
  await until(one, (job) => JSON.parse(localStorage[`ohms.job.${job}`]).gone === true, job);
  await two.clock.runFor(400);
  await until(one, () => document.querySelectorAll(".jobs > li").length === 1);
  const texts = Object.values((await kept(one)).local).map((text) => JSON.parse(text));
  assert.deepEqual(texts.filter((text) => !text.gone).map((text) => text.job.notes), ["still needed"]);
});

test("a wrong, foreign or missing index is made anew, and what cannot be read is set aside", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  let page = await visit(browser, site.url);
  await openDemo(page, "Lark");
  const job = page.url().match(/#\/job\/([^/]+)/)[1];
  await page.waitForTimeout(600);
  await toJobs(page);
  await page.evaluate(() => window.dispatchEvent(new Event("pagehide")));
  const index = await page.evaluate(() => localStorage["ohms.index"]);
  assert.match(index, /Lark/);
  const [name] = await names(page);
  const again = async (change, arg) => {
    await page.evaluate(change, arg);
    // Not through the page's own leaving, which would write the index anew.
    await page.evaluate(() => { window.addEventListener("pagehide", (event) => event.stopImmediatePropagation(), { capture: true }); });
    const left = await page.evaluate(() => JSON.stringify({ ...localStorage }));
    await page.close();
    page = await browser.newPage();
    await page.addInitScript((left) => {
      if (sessionStorage.set) return;
      sessionStorage.set = 1;
      localStorage.clear();
      for (const [key, value] of Object.entries(JSON.parse(left))) localStorage[key] = value;
    }, left);
    await page.goto(`${site.url}#/jobs`);
    await untilDrawn(page);
  };
  for (const wrong of ["", "{", "[1,2]", index.replace(/Lark/g, "Wrong").replace(/"([0-9a-f]{8,})","/, '"1","')]) {
    await again((wrong) => { localStorage["ohms.index"] = wrong; }, wrong);
    assert.deepEqual(await names(page), [name], wrong.slice(0, 20));
  }
  // The job has another text than the index was made of.
  await again(([job, index]) => {
    localStorage["ohms.index"] = index;
    const text = JSON.parse(localStorage[`ohms.job.${job}`]);
    text.rev += 1;
    text.writes = [...text.writes, ["elsewhere", 1]];
    text.job.site.name = "Renamed";
    localStorage[`ohms.job.${job}`] = JSON.stringify(text);
  }, [job, index]);
  assert.deepEqual(await names(page), ["Renamed"]);
  // A text that no app can read, under a key that the index knows.
  await again((job) => { localStorage[`ohms.job.${job}`] = '{"v":2,"rev":900,"job":'; }, job);
  const broken = await page.evaluate((job) => localStorage[`ohms.job.${job}`], job);
  assert.equal(await page.locator(".jobs > li").count(), 1, "the second store has it whole");
  assert.match(broken, /^\{/);
});

test("with many jobs rows come in portions", async (t) => {
  const site = await Site.start(t);
  const browser = await openBrowser(t);
  const page = await visit(browser, site.url);
  await openDemo(page, "Lark");
  await page.waitForTimeout(600);
  await plant(page, Object.fromEntries(Array.from({ length: 70 }, (_, n) => [`n${n}`, { name: `Boat ${n}` }])));
  await page.goto(`${site.url}#/jobs`);
  await page.reload();
  await untilDrawn(page);
  await until(page, () => document.querySelectorAll(".jobs > li").length === 7);
  for (const rows of [21, 35, 49, 63]) {
    await touch(page, "Show 14 more");
    await until(page, (rows) => document.querySelectorAll(".jobs > li").length === rows, rows);
  }
  await touch(page, "Show 8 more");
  await until(page, () => document.querySelectorAll(".jobs > li").length === 71);
  await type(page, "Find a job", "boat 69");
  await until(page, () => document.querySelectorAll(".jobs > li").length === 1);
});
