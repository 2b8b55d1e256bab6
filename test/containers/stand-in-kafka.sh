#!/bin/sh
# KAFKA_SOME_SETTING becomes some.setting, as in the published image.
set -eu
mkdir -p /var/lib/kafka
env | sed -n 's/^KAFKA_//p' | while IFS='=' read -r name value; do
  echo "$(echo "$name" | tr 'A-Z_' 'a-z.')=$value"
done > /var/lib/kafka/server.properties
java -cp '/opt/kafka/libs/*' kafka.tools.StorageTool format --ignore-formatted -t "$CLUSTER_ID" -c /var/lib/kafka/server.properties
exec java -Xmx512m -cp '/opt/kafka/libs/*' -Dorg.slf4j.simpleLogger.defaultLogLevel=info kafka.Kafka /var/lib/kafka/server.properties
