const NAME = 'utterlog running record';

/**
 * Says to all windows and to the service worker that a record runs here, until the returned function is called
 * or the window goes: the app is never exchanged for a new version meanwhile.
 */
export function holdRunning(): () => void {
  let release = () => {};
  const held = new Promise<void>((resolve) => (release = resolve));
  void navigator.locks?.request(NAME, { mode: 'shared' }, () => held);
  return release;
}
