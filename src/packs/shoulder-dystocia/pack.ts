import type { Pack } from '../../core/vocabulary/pack.ts';
import ambiguous from './ambiguous.json';
import codes from './codes.json';
import lookAlikes from './lookalikes.json';
import baby from './phrases/baby.json';
import birth from './phrases/birth.json';
import communication from './phrases/communication.json';
import findings from './phrases/findings.json';
import manoeuvres from './phrases/manoeuvres.json';
import mother from './phrases/mother.json';
import pushing from './phrases/pushing.json';
import team from './phrases/team.json';

/** The birth with a shoulder dystocia, and what belongs to every birth. */
export const SHOULDER_DYSTOCIA = {
  id: 'shoulder-dystocia',
  codes,
  phrases: [birth, findings, team, manoeuvres, pushing, baby, mother, communication],
  ambiguous,
  lookAlikes,
} as unknown as Pack;
