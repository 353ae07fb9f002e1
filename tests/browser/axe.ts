import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { Page } from 'playwright-core';

const source = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

interface Found {
  violations: { id: string; help: string; nodes: { target: string[]; failureSummary?: string }[] }[];
}

/** What axe finds on the page against WCAG 2.2 A and AA, one line each; empty when clean. */
export async function axeProblems(page: Page): Promise<string[]> {
  if (!(await page.evaluate(() => 'axe' in window))) await page.evaluate(source);
  const found = (await page.evaluate(
    `axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'] })`,
  )) as Found;
  return found.violations.flatMap(({ id, help, nodes }) =>
    nodes.map(({ target, failureSummary }) => `${id}: ${help} ${target.join(' ')} ${failureSummary ?? ''}`),
  );
}
