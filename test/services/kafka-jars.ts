import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { madeOnce, requireProgram, run } from './cache.ts';

export const KAFKA_VERSION = '4.1.0';

const artifact = (group: string, name: string, version: string) =>
  `<dependency><groupId>${group}</groupId><artifactId>${name}</artifactId><version>${version}</version></dependency>`;

const POM = `<project xmlns="http://maven.apache.org/POM/4.0.0">
  <modelVersion>4.0.0</modelVersion>
  <groupId>chargeair.example</groupId><artifactId>broker</artifactId><version>1</version>
  <dependencies>
    ${artifact('org.apache.kafka', 'kafka_2.13', KAFKA_VERSION)}
    ${artifact('org.apache.kafka', 'kafka-tools', KAFKA_VERSION)}
    ${artifact('org.slf4j', 'slf4j-simple', '1.7.36')}
  </dependencies>
</project>
`;

/**
 * Folder with the jars of a broker, fetched from its published Maven artifacts once: 54 MB, half a minute.
 *
 * @throws Error in one sentence where Java or Maven is missing.
 */
export function kafkaJars(): Promise<string> {
  requireProgram({ name: 'java', install: 'apt-get install openjdk-17-jre-headless' });
  return madeOnce(`kafka-${KAFKA_VERSION}`, async (folder) => {
    const maven = requireProgram({ name: 'mvn', install: 'apt-get install maven' });
    await writeFile(join(folder, 'pom.xml'), POM);
    const target = `-DoutputDirectory=${folder}`;
    await run(maven, ['-q', '-B', 'dependency:copy-dependencies', target, '-DincludeScope=runtime'], { cwd: folder });
  });
}
