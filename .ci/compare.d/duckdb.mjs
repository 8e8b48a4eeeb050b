// One grouped sum of a chart file with DuckDB: node duckdb.mjs CHARTS.csv
import { DuckDBInstance } from '@duckdb/node-api';

const c = await (await DuckDBInstance.create(':memory:', { threads: process.env.DUCKDB_THREADS ?? '2' })).connect();
const r = await c.runAndReadAll(`SELECT count(*), sum(s) FROM (SELECT "Tank", sum("Volume (gal)") AS s FROM read_csv('${process.argv[2].replaceAll("'", "''")}') GROUP BY "Tank")`);
console.log(r.getRowsJson()[0].join(' '));
