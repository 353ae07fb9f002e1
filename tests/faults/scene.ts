import type { BrowserContext, Page } from 'playwright-core';
import { serveApp } from './app-folder.ts';
import { begun, compare, expectThat, type Outcome, type Stage } from './campaign.ts';
import { firstPage, KillableBrowser, type LaunchOptions } from './chromium.ts';
import {
  Acknowledged,
  beginRecord,
  chainOf,
  gapsTold,
  HEAD,
  openRecord,
  shownNow,
  touch,
  touchAny,
} from './drive.ts';

/** A browser on the served app with one running record, and what the screen has shown of it. */
export class Scene {
  readonly outcome: Omit<Outcome, 'fault'> = begun();
  readonly acknowledged = new Acknowledged();
  context!: BrowserContext;
  page!: Page;
  recordId = '';

  private constructor(
    readonly stage: Stage,
    readonly app: Awaited<ReturnType<typeof serveApp>>,
    public browser: KillableBrowser,
  ) {}

  /** Opens a browser, begins a record and logs the head and some more by touch. */
  static async play(
    stage: Stage,
    act: (scene: Scene) => Promise<void>,
    options: {
      launch?: LaunchOptions;
      entries?: number;
      own?: boolean;
      profile?: string;
      prepare?: (scene: Scene) => Promise<void>;
    } = {},
  ): Promise<Omit<Outcome, 'fault'>> {
    const scene = new Scene(
      stage,
      await serveApp(stage.dist, options.own),
      new KillableBrowser(options.profile),
    );
    try {
      await scene.launch(options.launch);
      await options.prepare?.(scene);
      scene.recordId = await beginRecord(scene.page, scene.app.url);
      await touch(scene.page, HEAD);
      await scene.acknowledged.reach(1);
      await scene.add(options.entries ?? 4);
      await act(scene);
      return scene.outcome;
    } finally {
      await scene.browser.forget();
      await scene.app.stop();
    }
  }

  async launch(options: LaunchOptions = {}): Promise<void> {
    this.context = await this.browser.launch(options);
    this.page = await firstPage(this.context);
    await this.acknowledged.watch(this.context);
    // "Leave the page?", where a window alone holds entries: the campaign leaves all the same.
    this.page.on('dialog', (dialog) => void dialog.accept().catch(() => {}));
  }

  /** Logs this many entries by touch and waits until each is shown. */
  async add(count: number): Promise<void> {
    for (let at = 0; at < count; at++) {
      const before = this.acknowledged.entries.size;
      await touchAny(this.page, this.stage.random);
      await this.acknowledged.reach(before + 1);
    }
  }

  /** Opens the record again and waits until as many entries as were ever shown are there, or time is up. */
  async reopen(): Promise<void> {
    await openRecord(this.page, this.app.url, this.recordId);
    const wanted = [...this.acknowledged.entries.keys()];
    await this.page
      .waitForFunction(
        (ids) => {
          const there = new Set(
            [...document.querySelectorAll<HTMLElement>('[data-entry]')].map((row) => row.dataset['entry']),
          );
          return ids.every((id) => there.has(id));
        },
        wanted,
        { timeout: 4_000 },
      )
      .catch(() => {});
  }

  /** Compares what is shown now with all that was ever shown, and checks the chain on the device. */
  async check(what: string, chain: 'intact' | 'any' = 'intact'): Promise<void> {
    compare(this.outcome, this.acknowledged.entries, await shownNow(this.page));
    if (chain === 'any') return;
    const found = await chainOf(this.page, this.recordId);
    expectThat(this.outcome, found === 'intact', `${what}: the chain on the device is ${found ?? 'missing'}`);
  }

  /** The review names the gaps that the fault made. */
  async tellsGaps(): Promise<void> {
    this.outcome.told = await gapsTold(this.page, this.app.url, this.recordId);
    expectThat(this.outcome, this.outcome.told !== '', 'nothing was said of the gaps');
  }

  /** New entries still work after the fault. */
  async goesOn(what: string): Promise<void> {
    const before = this.acknowledged.entries.size;
    try {
      await this.add(1);
    } catch {
      expectThat(
        this.outcome,
        this.acknowledged.entries.size > before,
        `${what}: no new entry could be logged`,
      );
    }
  }
}
