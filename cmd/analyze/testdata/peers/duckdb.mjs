// Loads a CSV file into a table of DuckDB and prints the seconds that it took: node duckdb.mjs FILE, from a folder with @duckdb/node-api.
import { createRequire } from "node:module";
const { DuckDBInstance } = createRequire(process.cwd() + "/")("@duckdb/node-api");

const db = await (await DuckDBInstance.create(":memory:")).connect();
const began = process.hrtime.bigint();
await db.run(`CREATE TABLE day AS SELECT * FROM read_csv('${process.argv[2].replaceAll("'", "''")}')`);
console.log(Number(process.hrtime.bigint() - began) / 1e9);
