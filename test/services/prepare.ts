// Fetches and builds the servers that the service tests start, so that the tests themselves begin at once.
import { influxdProgram } from './influxd-build.ts';
import { kafkaJars } from './kafka-jars.ts';

const [jars, influxd] = await Promise.all([kafkaJars(), influxdProgram()]);
console.log(`${jars}\n${influxd}`);
