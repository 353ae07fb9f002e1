import type { RecordView } from '../../core/log/view.ts';
import type { Tone } from '../common/tones.ts';

/** The tone for what came to the log after event `seq`; null where nothing in it concerns the operator. */
export function toneAfter(view: RecordView, seq: number): Tone | null {
  let tone: Tone | null = null;
  for (const event of view.events) {
    if (event.seq <= seq) continue;
    switch (event.kind) {
      case 'entry':
      case 'confirm':
      case 'replace':
      case 'strike':
      case 'restore':
      case 'mark':
        tone = 'logged';
        break;
      case 'question':
        tone = 'ask';
        break;
      case 'utterance':
        if (event.outcome === 'unrecognised') tone = 'unheard';
        break;
      default:
        break;
    }
  }
  return tone;
}
