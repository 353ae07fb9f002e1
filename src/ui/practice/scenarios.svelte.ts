import { allScenarios, findScenario } from '../../app/practice.ts';
import { BUNDLED_SCENARIOS } from '../../packs/scenarios.ts';
import { exportScenario, importScenario } from '../../core/practice/scenario-file.ts';
import type { Scenario } from '../../core/practice/scenario.ts';
import { drills } from '../../store/drills.ts';
import { saveFile } from '../common/save-file.ts';
import { session } from '../../app/session.svelte.ts';
import { text } from '../messages/text.ts';

/** The scenarios on the screen, and what a person does with them. */
export class Scenarios {
  readonly bundled = BUNDLED_SCENARIOS;
  own: Scenario[] = $state.raw([]);
  /** What was just done, or why not. */
  told = $state('');
  failed = $state(false);

  async load(): Promise<void> {
    this.own = (await allScenarios()).own;
  }

  #tell(sentence: string, failed = false): void {
    this.told = sentence;
    this.failed = failed;
  }

  export(scenario: Scenario): void {
    saveFile(`PRACTICE_utterlog_scenario_${scenario.id}.json`, 'application/json', exportScenario(scenario));
  }

  /** A file with the id of a bundled scenario gets one of its own, so that it hides nothing. */
  async import(file: File): Promise<void> {
    const outcome = importScenario(await file.text(), session.vocabulary);
    if (outcome.kind === 'refused') return this.#tell(outcome.sentence, true);
    const { recording: _recording, ...scenario } = outcome.scenario;
    const id = BUNDLED_SCENARIOS.some((bundled) => bundled.id === scenario.id)
      ? `own-${scenario.id}`
      : scenario.id;
    const replaced = (await findScenario(id)) !== undefined;
    const saved = await drills.saveScenario({ ...scenario, id });
    if (saved.kind === 'failed') return this.#tell(text('practice.edit.unsaved'), true);
    await this.load();
    const said = text('practice.choose.imported', { title: scenario.title });
    this.#tell(replaced ? `${said}. ${text('practice.choose.copied')}` : said);
  }

  async remove(scenario: Scenario): Promise<void> {
    await drills.deleteScenario(scenario.id);
    await this.load();
    this.#tell(text('practice.choose.removed', { title: scenario.title }));
  }
}
