import { afterAll, beforeAll, expect, test } from 'vitest';
import { openApp, startServer, type AppServer, type OpenApp } from './harness.ts';

/** Shown as text these are harmless; taken as markup or as a script each would set the mark. */
const HOSTILE = [
  '<img src=x onerror="window.harmed=1">',
  '<script>window.harmed=1</script>',
  '"><svg/onload=window.harmed=1>',
  "{{constructor.constructor('window.harmed=1')()}}",
  'javascript:window.harmed=1',
];

let server: AppServer;
let app: OpenApp;
beforeAll(async () => {
  server = await startServer();
  app = await openApp(server, { viewport: { width: 1600, height: 900 } });
});
afterAll(async () => {
  await app?.close();
  server?.stop();
});

const harmed = () => app.page.evaluate(() => (window as unknown as { harmed?: number }).harmed);

test('the page runs under the policy: no violation, no inline script, no eval, no other origin', async () => {
  const { page } = app;
  await page.getByRole('main').waitFor();
  const violated = await page.evaluate(
    () =>
      new Promise<string[]>((done) => {
        const seen: string[] = [];
        document.addEventListener('securitypolicyviolation', (event) => seen.push(event.effectiveDirective));
        const script = document.createElement('script');
        script.textContent = 'window.harmed = 1';
        document.body.append(script);
        const image = new Image();
        image.src = 'https://elsewhere.example/x.png';
        fetch('https://elsewhere.example/').catch(() => {});
        setTimeout(() => done(seen.sort()), 500);
      }),
  );
  expect(violated).toEqual(['connect-src', 'img-src', 'script-src-elem']);
  expect(await harmed()).toBeUndefined();
  expect(app.errors.filter((error) => !/elsewhere|inline script/i.test(error))).toEqual([]);
});

test('what is typed as a call-out is shown as text on every screen of the record', async () => {
  const { page } = app;
  await page.goto(server.url);
  await page.locator('input[type=radio][value=practice]').check();
  await page.locator('button.big').click();
  await page.waitForURL(/#\/live\//);
  const id = page.url().split('/').at(-1)!;
  for (const words of HOSTILE) {
    await page.locator('form input').first().fill(`note ${words}`);
    await page.locator('form button[type=submit]').first().click();
  }
  let shown = '';
  for (const screen of ['live', 'helper', 'after', 'review', 'note']) {
    await page.goto(`${server.url}#/${screen}/${id}`);
    await page.getByRole('main').waitFor();
    await page.waitForTimeout(800);
    expect(await harmed(), screen).toBeUndefined();
    expect(await page.locator('main img[src=x], main script, main svg[onload]').count(), screen).toBe(0);
    shown += await page.getByRole('main').innerText();
  }
  // The words themselves are there to read, however the interpreter spells them.
  expect(shown).toMatch(/img src.*onerror/i);
});
