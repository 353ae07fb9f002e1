import type { Versions } from '../core/log/events.ts';

/** Put in by the build (build/versions.ts). */
declare const __VERSIONS__: Versions;

/** What this app is made of: its own version, and what decides how speech becomes words and words become entries. */
export const VERSIONS: Versions = __VERSIONS__;
