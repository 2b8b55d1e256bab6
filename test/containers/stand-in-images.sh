#!/bin/sh
# Makes images for the container tests where no registry can be reached: Debian by debootstrap, the broker's jars and
# the database's program from the cache of the service tests. They take the environment as the published images do, as
# far as docker-compose.fleet.yml uses it. Needs root, docker and debootstrap; npx tsx test/services/prepare.ts comes first.
#
#   eval "$(test/containers/stand-in-images.sh)" && npx vitest run --project containers
set -eu
cache="${XDG_CACHE_HOME:-$HOME/.cache}/chargeair"
kafka="$cache/kafka-4.1.0"
influxd="$cache/influxd-2.7.12/influxd"
[ -d "$kafka" ] && [ -x "$influxd" ] || { echo 'Run npx tsx test/services/prepare.ts first.' >&2; exit 1; }
here=$(cd "$(dirname "$0")" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

if ! docker image inspect chargeair-base >/dev/null 2>&1; then
  debootstrap --variant=minbase --include=openjdk-17-jre-headless,ca-certificates,curl bookworm "$work/base" >&2
  tar -C "$work/base" -c . | docker import - chargeair-base >&2
fi
mkdir "$work/kafka" "$work/influxdb"
cp "$kafka"/*.jar "$here/stand-in-kafka.sh" "$work/kafka/"
cp "$influxd" "$here/stand-in-influxdb.sh" "$work/influxdb/"
docker build -q -t chargeair-kafka-stand-in -f - "$work/kafka" >&2 <<'DOCKERFILE'
FROM chargeair-base
COPY *.jar /opt/kafka/libs/
COPY stand-in-kafka.sh /
CMD ["sh", "/stand-in-kafka.sh"]
DOCKERFILE
docker build -q -t chargeair-influxdb-stand-in -f - "$work/influxdb" >&2 <<'DOCKERFILE'
FROM chargeair-base
COPY influxd /usr/local/bin/
COPY stand-in-influxdb.sh /
CMD ["sh", "/stand-in-influxdb.sh"]
DOCKERFILE
echo 'export CHARGEAIR_KAFKA_IMAGE=chargeair-kafka-stand-in CHARGEAIR_INFLUXDB_IMAGE=chargeair-influxdb-stand-in TESTCONTAINERS_RYUK_DISABLED=true'
