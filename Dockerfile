# chargeair as one process with its own embedded stores. Built in two steps, so that compilers and tests stay behind.
FROM node:20-bookworm AS build
WORKDIR /app
COPY package.json package-lock.json .npmrc ./
# Compiles the database driver where no binary fits; the full image has what that needs.
RUN npm ci
COPY . .
RUN npm run -s build && npm prune --omit=dev

FROM node:20-bookworm-slim
ENV NODE_ENV=production CHARGEAIR_DATA=/data CHARGEAIR_HOST=0.0.0.0 CHARGEAIR_PORT=8473
WORKDIR /app
COPY --from=build /app/package.json ./
COPY --from=build /app/node_modules node_modules
COPY --from=build /app/dist dist
RUN mkdir /data && chown node:node /data
USER node
VOLUME /data
EXPOSE 8473
HEALTHCHECK --interval=15s --timeout=5s --start-period=10m --retries=4 \
  CMD ["node", "-e", "fetch('http://127.0.0.1:8473/healthz').then((r) => process.exit(r.ok ? 0 : 1), () => process.exit(1))"]
ENTRYPOINT ["node", "dist/chargeair.js"]
CMD ["start"]
