import { CLOCK_FAULTS } from './clock-faults.ts';
import { PROCESS_FAULTS } from './process-faults.ts';
import { STORAGE_FAULTS } from './storage-faults.ts';

export const FAULTS = [...PROCESS_FAULTS, ...STORAGE_FAULTS, ...CLOCK_FAULTS];
