import { chmod, mkdir, rm, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { madeOnce, requireProgram, run } from './cache.ts';

export const INFLUXDB_VERSION = '2.7.12';
const PKG_CONFIG_VERSION = '0.2.14';

// A replacement counts only in the main module, so the one of the database's own go.mod is repeated here.
const GO_MOD = `module chargeair.example/influxd

go 1.23.0

require github.com/influxdata/influxdb/v2 v${INFLUXDB_VERSION}

replace github.com/nats-io/nats-streaming-server v0.11.2 => github.com/influxdata/nats-streaming-server v0.11.3-0.20201112040610-c277f7560803
`;

// The Rust part of its query language turns every lint into an error; newer compilers know more lints.
const RUSTC_WRAPPER = `#!/bin/sh
exec "$@" --cap-lints warn
`;

/**
 * The database server's program, built from its published Go module and kept: some ten minutes on two cores at first.
 *
 * @throws Error in one sentence where Go, Rust, clang or pkg-config is missing.
 */
export async function influxdProgram(): Promise<string> {
  return join(await madeOnce(`influxd-${INFLUXDB_VERSION}`, build), 'influxd');
}

async function build(folder: string): Promise<void> {
  const go = requireProgram({
    name: 'go',
    install: 'install Go 1.23 or newer from its site, or apt-get install golang',
  });
  requireProgram({ name: 'cargo', install: 'install Rust from its site, or apt-get install cargo' });
  requireProgram({ name: 'clang', install: 'apt-get install clang' });
  requireProgram({ name: 'pkg-config', install: 'apt-get install pkg-config' });
  const work = join(folder, 'build');
  await mkdir(work);
  await writeFile(join(work, 'go.mod'), GO_MOD);
  const wrapper = join(work, 'rustc-wrapper');
  await writeFile(wrapper, RUSTC_WRAPPER);
  await chmod(wrapper, 0o755);
  const env = {
    ...process.env,
    GOBIN: work,
    GOFLAGS: '-mod=mod',
    CGO_ENABLED: '1',
    CC: 'clang',
    CXX: 'clang++',
    PKG_CONFIG: join(work, 'pkg-config'),
    RUSTC_WRAPPER: wrapper,
    // The toolchain that its source pins is an old one; any newer stable one builds it.
    RUSTUP_TOOLCHAIN: process.env.RUSTUP_TOOLCHAIN ?? 'stable',
  };
  const low = (args: readonly string[]) => run('nice', ['-n', '19', go, ...args], { cwd: work, env });
  await low(['install', `github.com/influxdata/pkg-config@v${PKG_CONFIG_VERSION}`]);
  await low([
    'build',
    '-tags',
    'sqlite_foreign_keys,sqlite_json',
    '-o',
    join(folder, 'influxd'),
    'github.com/influxdata/influxdb/v2/cmd/influxd',
  ]);
  await rm(work, { recursive: true, force: true });
}
