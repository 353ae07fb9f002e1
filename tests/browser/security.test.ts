import { readFileSync } from 'node:fs';
import { join } from 'node:path';
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

/** Nothing ran, and nothing of it became an element. */
async function expectHarmless(what: string): Promise<void> {
  await app.page.waitForTimeout(300);
  expect(await harmed(), what).toBeUndefined();
  const made = app.page.locator('img[src=x], main script, dialog script, svg[onload], [href^="javascript:"]');
  expect(await made.count(), what).toBe(0);
}
const dropped = (name: string, content: unknown) => ({
  name,
  mimeType: 'application/json',
  buffer: Buffer.from(typeof content === 'string' ? content : JSON.stringify(content)),
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
  for (const screen of [
    'live',
    'helper',
    'questions',
    'after',
    'note',
    'sign',
    'hand-out',
    'review',
    'parents',
    'talks',
  ]) {
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

test('what the recogniser writes is shown as text on every screen of the record', async () => {
  // A worker in the recogniser's place: the words come the way that heard words come.
  const heard = await openApp(server, {
    args: ['--use-fake-device-for-media-stream', '--use-fake-ui-for-media-stream'],
    viewport: { width: 1600, height: 900 },
  });
  try {
    await heard.page.addInitScript((words) => {
      class Speaking extends EventTarget {
        onmessage: ((event: { data: unknown }) => void) | null = null;
        #words = words.flatMap((word) => [word, `note ${word}`]);
        #left = [...this.#words];
        #nextMs = 0;
        postMessage(message: { kind: string; chunk?: { atMs: number } }): void {
          const say = (data: unknown) => setTimeout(() => this.onmessage?.({ data }));
          if (message.kind === 'open') say({ kind: 'ready', loadMs: 1 });
          // What was said before the record began is forgotten: it is said again.
          if (message.kind === 'forget') {
            this.#left = [...this.#words];
            this.#nextMs = 0;
            say({ kind: 'forgotten' });
          }
          const atMs = message.chunk?.atMs ?? 0;
          if (message.kind !== 'audio' || atMs < this.#nextMs || this.#left.length === 0) return;
          this.#nextMs = atMs + 400;
          const text = this.#left.shift()!;
          const reading = { text, logProbabilities: [-0.01, -0.01] };
          const twice = { tuned: reading, untouched: reading, speechMs: 300 };
          say({
            kind: 'heard',
            onsetMs: atMs - 300,
            endMs: atMs,
            cut: false,
            heard: twice,
            samples: new Float32Array(4_800),
            computeMs: 1,
            early: false,
          });
        }
        terminate(): void {}
      }
      window.Worker = Speaking as unknown as typeof Worker;
    }, HOSTILE);
    await heard.page.goto('about:blank');
    await heard.page.goto(server.url);
    await heard.page.locator('input[type=radio][value=practice]').check();
    await heard.page.locator('button.big').click();
    await heard.page.waitForURL(/#\/live\//);
    const id = heard.page.url().split('/').at(-1)!;
    await heard.page.waitForTimeout(6_000);
    let shown = '';
    for (const screen of [
      'live',
      'helper',
      'questions',
      'after',
      'note',
      'sign',
      'hand-out',
      'review',
      'parents',
      'talks',
    ]) {
      await heard.page.goto(`${server.url}#/${screen}/${id}`);
      await heard.page.getByRole('main').waitFor();
      await heard.page.waitForTimeout(500);
      expect(await heard.page.evaluate(() => 'harmed' in window), screen).toBe(false);
      expect(await heard.page.locator('img[src=x], main script, svg[onload]').count(), screen).toBe(0);
      shown += await heard.page.getByRole('main').innerText();
    }
    for (const words of HOSTILE.slice(0, 3)) expect(shown).toContain(words);
  } finally {
    await heard.close();
  }
});

test('typed names, roles and references are shown as text', async () => {
  const { page } = app;
  const id = page.url().split('/').at(-1)!;
  await page.goto(`${server.url}#/after/${id}`);
  await page.getByRole('button', { name: 'The emergency is over' }).click();
  await page.goto(`${server.url}#/review/${id}`);
  await page.getByRole('textbox', { name: 'Reference' }).fill(HOSTILE[0]!);
  await page.getByRole('button', { name: 'Keep the reference' }).click();
  await page.getByText(HOSTILE[0]!, { exact: false }).first().waitFor();
  await page.goto(`${server.url}#/sign/${id}`);
  await page.getByLabel('Name', { exact: true }).fill(HOSTILE[1]!);
  await page.getByRole('textbox', { name: 'Role', exact: true }).fill(HOSTILE[2]!);
  await page.getByRole('button', { name: 'Sign', exact: true }).click();
  await page.getByText(HOSTILE[1]!, { exact: false }).first().waitFor();
  await expectHarmless('sign');
  await page.goto(`${server.url}#/review/${id}`);
  await page.getByText(HOSTILE[0]!, { exact: false }).first().waitFor();
  await expectHarmless('review');
  for (const screen of [`note/${id}`, 'records', '']) {
    await page.goto(`${server.url}#/${screen}`);
    await page.getByRole('main').waitFor();
    await expectHarmless(screen);
  }
});

test('a unit’s words from a file are shown as text, in the settings and in a record', async () => {
  const { page } = app;
  const [image, script, vector] = HOSTILE as [string, string, string];
  const words = {
    format: 'utterlog-unit-words',
    version: 1,
    roles: [{ role: 'bell-ringer', label: image, say: ['bell ringer'] }],
    drugs: [{ drug: script, say: ['inventium'] }],
    codes: [{ code: 'unit-bell', label: vector, description: image, say: ['bell rung'] }],
  };
  await page.goto(`${server.url}#/settings`);
  const picker = page.locator('.file input[type=file]').first();
  await picker.setInputFiles(dropped('words.json', words));
  await page.getByText(image, { exact: false }).first().waitFor();
  await expectHarmless('settings');
  await picker.setInputFiles(dropped('bad.json', { ...words, phrases: { [image]: [script] } }));
  await expectHarmless('settings, refused');
  await page.goto(server.url);
  await page.locator('input[type=radio][value=practice]').check();
  await page.getByRole('button', { name: 'Begin practice' }).click();
  await page.waitForURL(/#\/live\//);
  const id = page.url().split('/').at(-1)!;
  for (const said of ['bell ringer here', 'inventium given', 'bell rung']) {
    await page.locator('form input').first().fill(said);
    await page.locator('form button[type=submit]').first().click();
  }
  let shown = '';
  for (const screen of [
    'live',
    'helper',
    'questions',
    'after',
    'note',
    'sign',
    'hand-out',
    'review',
    'parents',
    'talks',
  ]) {
    await page.goto(`${server.url}#/${screen}/${id}`);
    await page.getByRole('main').waitFor();
    await expectHarmless(`${screen} with the unit’s words`);
    shown += await page.getByRole('main').innerText();
  }
  expect(shown).toContain(vector);
});

test('a scenario file is shown as text, or refused in a sentence', async () => {
  const { page } = app;
  const [image, script, vector] = HOSTILE as [string, string, string];
  const scenario = JSON.parse(
    readFileSync(
      join(import.meta.dirname, '../../src/packs/shoulder-dystocia/scenarios/first-manoeuvre.json'),
      'utf8',
    ),
  ) as Record<string, unknown> & { lines: { text: string }[] };
  delete scenario.recording;
  Object.assign(scenario, { id: 'hostile', title: image, summary: script });
  scenario.lines[0]!.text = vector;
  await page.goto(`${server.url}#/practice`);
  await page.locator('input[type=file]').setInputFiles(dropped(`${script}.json`, scenario));
  await page.getByText(image, { exact: false }).first().waitFor();
  await expectHarmless('practice');
  await page.goto(`${server.url}#/practice/edit/hostile`);
  await page.getByRole('main').waitFor();
  await expectHarmless('editor');
  await page.goto(`${server.url}#/practice`);
  await page
    .locator('input[type=file]')
    .setInputFiles(dropped('x.json', { ...scenario, [image]: 1, truth: vector }));
  await page
    .getByText(/unchanged/)
    .first()
    .waitFor();
  await expectHarmless('practice, refused');
});

test('an import that is refused shows its own name and words as text', async () => {
  const { page } = app;
  await page.goto(`${server.url}#/records`);
  const bad = { format: 'utterlog-record', version: 1, [HOSTILE[0]!]: HOSTILE[1] };
  await page
    .locator('input[type=file]')
    .setInputFiles([
      dropped(`${HOSTILE[0]!.replaceAll('/', '-')}.json`, bad),
      dropped('key.json', `{"format":"utterlog-record","version":1,"constructor":{"${'<b>x</b>'}":1}}`),
    ]);
  const dialog = page.getByRole('dialog', { name: 'Import' });
  await dialog.getByText('0 records imported').waitFor();
  expect(await dialog.innerText()).toContain('<img src=x onerror=');
  await expectHarmless('import');
});
