import type { Scenario } from '../core/practice/scenario.ts';
import everythingTried from './shoulder-dystocia/scenarios/everything-tried.json' with { type: 'json' };
import firstManoeuvre from './shoulder-dystocia/scenarios/first-manoeuvre.json' with { type: 'json' };
import posteriorArm from './shoulder-dystocia/scenarios/posterior-arm.json' with { type: 'json' };
import sideCorrected from './shoulder-dystocia/scenarios/side-corrected.json' with { type: 'json' };

/** The scenarios that come with the app; every birth in them is invented. */
export const BUNDLED_SCENARIOS: readonly Scenario[] = [
  posteriorArm,
  firstManoeuvre,
  sideCorrected,
  everythingTried,
] as unknown as Scenario[];

/** The one that plays with one button. */
export const PRACTICE_EMERGENCY: Scenario = BUNDLED_SCENARIOS[0]!;
