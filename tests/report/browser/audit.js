// Opens pages in a browser without a window and prints, as JSON, what the console, the network and an accessibility
// audit say. Arguments: the browser, then the pages. Needs the packages playwright-core and axe-core.
const { chromium } = require("playwright-core");
const axe = require.resolve("axe-core/axe.min.js");

(async () => {
  const [program, ...pages] = process.argv.slice(2);
  const root = process.getuid && process.getuid() === 0;
  const browser = await chromium.launch({ executablePath: program, args: root ? ["--no-sandbox"] : [] });
  const told = [];
  for (const page of pages) {
    for (const width of [360, 1280]) {
      for (const scheme of ["light", "dark"]) {
        // the page forbids scripts; only the audit may run one
        const context = await browser.newContext({
          viewport: { width, height: 900 },
          colorScheme: scheme,
          bypassCSP: true,
        });
        const tab = await context.newPage();
        const messages = [], requests = [];
        tab.on("console", (one) => messages.push(one.text()));
        tab.on("pageerror", (one) => messages.push(String(one)));
        tab.on("dialog", (one) => { messages.push("dialog " + one.message()); one.dismiss(); });
        tab.on("request", (one) => requests.push(one.url()));
        await tab.goto("file://" + page);
        const wider = await tab.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
        const stops = [];
        for (let i = 0; i < 8; i++) {
          await tab.keyboard.press("Tab");
          stops.push(await tab.evaluate(() => (document.activeElement.textContent || "").slice(0, 40)));
        }
        await tab.addScriptTag({ path: axe });
        const found = await tab.evaluate(() => axe.run(document, { resultTypes: ["violations"] }));
        told.push({
          page, width, scheme, messages, wider, stops,
          requests: requests.filter((one) => one !== "file://" + page),
          violations: found.violations.map((one) => [one.impact, one.id, one.nodes[0].html.slice(0, 200)]),
        });
        await context.close();
      }
    }
  }
  await browser.close();
  console.log(JSON.stringify(told));
})();
