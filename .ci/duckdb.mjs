// A command that answers `duckdb -csv -c SQL` as the tests of the recipes ask
// it, over the npm package of the engine: prints the rows of the last statement.
// DUCKDB_MODULES is the folder in which the package was installed.
import { createRequire } from "node:module";

const require = createRequire(`${process.env.DUCKDB_MODULES}/`);
const { DuckDBInstance } = require("@duckdb/node-api");

const sql = process.argv[process.argv.indexOf("-c") + 1];
const connection = await (await DuckDBInstance.create(":memory:")).connect();
const statements = await connection.extractStatements(sql);
let reader;
for (let i = 0; i < statements.count; i++) {
  const prepared = await statements.prepare(i);
  reader = await prepared.runAndReadAll();
}

// RFC 4180: a cell with a comma, a quote or a line end is quoted.
const cell = (value) => {
  const text = value === null ? "" : String(value);
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
};
console.log(reader.columnNames().map(cell).join(","));
for (const row of reader.getRows()) console.log(row.map(cell).join(","));
