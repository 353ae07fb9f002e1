import type { Scenario } from './scenario.ts';
import everythingTried from './scenarios/everything-tried.json' with { type: 'json' };
import firstManoeuvre from './scenarios/first-manoeuvre.json' with { type: 'json' };
import posteriorArm from './scenarios/posterior-arm.json' with { type: 'json' };
import sideCorrected from './scenarios/side-corrected.json' with { type: 'json' };

/** The scenarios that come with the app; every birth in them is invented. */
export const BUNDLED_SCENARIOS: readonly Scenario[] = [
  posteriorArm,
  firstManoeuvre,
  sideCorrected,
  everythingTried,
] as unknown as Scenario[];

/** The one that plays with one button. */
export const PRACTICE_EMERGENCY: Scenario = BUNDLED_SCENARIOS[0]!;
