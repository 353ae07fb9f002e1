import { createRequire } from 'node:module';
import { join } from 'node:path';
import { bring, folderOf, type Engine } from './bring.ts';

/** The few calls of DuckDB's package that are used here. */
interface Connection {
  run(sql: string): Promise<unknown>;
  runAndReadAll(sql: string): Promise<{ getRowObjects(): Record<string, unknown>[] }>;
  closeSync?: () => void;
}
interface DuckDbApi {
  DuckDBInstance: {
    create(path: string, options: Record<string, string>): Promise<{ connect(): Promise<Connection> }>;
  };
}

export interface Duck {
  run: (sql: string) => Promise<void>;
  rows: (sql: string) => Promise<Record<string, unknown>[]>;
  close: () => void;
}

const ENGINE: Engine = {
  name: 'DuckDB',
  lock: join(import.meta.dirname, 'duckdb'),
  package: '@duckdb/node-api',
  size: 'about 70 MB',
};

/** Fetches DuckDB once. @throws an Error in npm's own last words where it cannot be had. */
export const bringDuckDb = (say: (sentence: string) => void): Promise<void> => bring(ENGINE, say);

/** Opens a database in memory. @param memory e.g. "1500MB"; what is larger goes to `spill`. */
export async function openDuckDb(options: { memory: string; spill: string }): Promise<Duck> {
  const require = createRequire(join(folderOf(ENGINE), 'package.json'));
  const { DuckDBInstance } = require('@duckdb/node-api') as DuckDbApi;
  const instance = await DuckDBInstance.create(':memory:', {
    memory_limit: options.memory,
    temp_directory: options.spill,
    preserve_insertion_order: 'false',
    // Nothing is fetched from anywhere while it runs.
    autoinstall_known_extensions: 'false',
  });
  const connection = await instance.connect();
  return {
    run: async (sql) => void (await connection.run(sql)),
    rows: async (sql) => (await connection.runAndReadAll(sql)).getRowObjects(),
    close: () => connection.closeSync?.(),
  };
}
