#!/bin/sh
# Sets the database up by the variables of the published image, once it answers.
set -eu
influxd --http-bind-address :8086 --reporting-disabled &
server=$!
trap 'kill $server' TERM INT
until curl -fsS -o /dev/null http://localhost:8086/health 2>/dev/null; do sleep 0.2; done
curl -fsS -o /dev/null -H 'content-type: application/json' http://localhost:8086/api/v2/setup -d "{
  \"username\": \"$DOCKER_INFLUXDB_INIT_USERNAME\", \"password\": \"$DOCKER_INFLUXDB_INIT_PASSWORD\",
  \"org\": \"$DOCKER_INFLUXDB_INIT_ORG\", \"bucket\": \"$DOCKER_INFLUXDB_INIT_BUCKET\",
  \"token\": \"$DOCKER_INFLUXDB_INIT_ADMIN_TOKEN\" }"
wait $server
