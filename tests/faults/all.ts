import { CLOCK_FAULTS } from './clock-faults.ts';
import { HEARING_FAULTS } from './hearing-faults.ts';
import { PROCESS_FAULTS } from './process-faults.ts';
import { RELEASE_FAULTS } from './release-faults.ts';
import { STORAGE_FAULTS } from './storage-faults.ts';

export const FAULTS = [
  ...PROCESS_FAULTS,
  ...STORAGE_FAULTS,
  ...CLOCK_FAULTS,
  ...HEARING_FAULTS,
  ...RELEASE_FAULTS,
];
