import { mount } from 'svelte';
import { offline } from './app/offline.svelte.ts';
import App from './ui/App.svelte';
import { followErasing } from './store/device.ts';
import { outbox } from './store/outbox.ts';
import { deviceShelf, plainShelf } from './store/records.ts';
import { mendAfterUncleanEnd } from './store/unclean-end.ts';
import './ui/style.css';

mount(App, { target: document.getElementById('app')! });

followErasing(() => {
  location.hash = '#/';
  location.reload();
});
void mendAfterUncleanEnd();
void offline.start();

/** What waits in the outbox goes on at each start, but only where a person turned sending on. */
async function goOnSending(): Promise<void> {
  const { on } = await outbox.choice();
  if (on) await (await import('./app/send-out.svelte.ts')).sendOut.load();
}
// Where the device keeps nothing there is no outbox either; the start screen says so.
goOnSending().catch(() => {});

/** Records of versions before 0.2 lie readable: they are sealed once the app stands, out of the way of a beginning. */
async function sealOld(): Promise<void> {
  const { sealOldRecords } = await import('./store/seal-old.ts');
  await sealOldRecords(plainShelf, deviceShelf);
}
const OUT_OF_THE_WAY_MS = 10_000;
setTimeout(() => void sealOld().catch(() => {}), OUT_OF_THE_WAY_MS);
