import { afterAll, beforeAll, expect, test } from 'vitest';
import { openApp, startServer, type AppServer, type OpenApp } from './harness.ts';
import { beginRecord } from './live-steps.ts';

let server: AppServer;
beforeAll(async () => (server = await startServer()));
afterAll(() => server.stop());

/** Listening in a browser whose wake lock does this. */
async function listening(script: string): Promise<OpenApp> {
  const app = await openApp(server, {
    args: ['--use-fake-device-for-media-stream', '--use-fake-ui-for-media-stream'],
  });
  await app.page.addInitScript(script);
  await app.page.goto('about:blank');
  await app.page.goto(server.url);
  await beginRecord(app.page, 'practice');
  return app;
}
const told = (app: OpenApp) => app.page.getByText('The browser will not keep the screen on.');
const standIn = (request: string) =>
  `Object.defineProperty(navigator, 'wakeLock', { configurable: true, value: { request: ${request} } });`;

test('a wake lock that is refused is told', async () => {
  const app = await listening(
    standIn(`() => Promise.reject(new DOMException('low battery', 'NotAllowedError'))`),
  );
  await told(app).waitFor();
  await app.close();
});

test('one that is given is not spoken of, until the browser takes it back', async () => {
  const app = await listening(
    standIn(`async () => {
      const lock = new EventTarget();
      lock.release = async () => {};
      window.takeBack = () => lock.dispatchEvent(new Event('release'));
      return lock;
    }`),
  );
  await app.page.waitForFunction(() => 'takeBack' in window);
  await app.page.waitForTimeout(300);
  expect(await told(app).count()).toBe(0);
  await app.page.evaluate(() => (window as unknown as { takeBack: () => void }).takeBack());
  await told(app).waitFor();
  await app.close();
});
