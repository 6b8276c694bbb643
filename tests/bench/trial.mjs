// One trial in a process of its own: `node trial.mjs ROW ours|peer` prints {"value": done per second of wall time, "peak_MB": the most memory that it held}.
const WARM_s = 0.7;
const MEASURE_s = 1;

const [rowFile, side] = process.argv.slice(2);
const { prepare } = await import(`./rows/${rowFile}.mjs`);
const pass = prepare(side);

const now_s = () => Number(process.hrtime.bigint()) / 1e9;

async function runFor(least_s) {
  const start_s = now_s();
  let done = 0;
  for (;;) {
    done += await pass();
    const took_s = now_s() - start_s;
    if (took_s >= least_s) return done / took_s;
  }
}

await runFor(WARM_s);
globalThis.gc?.();
const value = await runFor(MEASURE_s);
process.stdout.write(`${JSON.stringify({ value, peak_MB: Math.round(process.resourceUsage().maxRSS / 1024) })}\n`, () => process.exit(0));
