// Who may import whom. Data flows one way: ingest -> log -> analysis -> log and history -> alerts. The rooms meet only in
// the records (schemas) and in the ports of the stores, so each can be read, tested and replaced alone.
// Run by test/tooling/check-imports.ts, which also makes sure that every source file was seen.

const rooms = ['schemas', 'storage', 'ingest', 'analysis', 'alerts', 'web', 'cli', 'demo', 'bench', 'test'];
const test = String.raw`\.test\.ts$`;
const ports = '^storage/(log/port|history/port|port-error)[.]ts$';
const pure =
  '^(analysis/(manipulation|detection|health|prognosis|statistics)/|analysis/(step|limits)[^/]*[.]ts$|ingest/formats/|ingest/intake[^/]*[.]ts$|alerts/book/|schemas/(?!generate[.]ts$))';

/** Everything of ours but the rooms named. */
const allBut = (...allowed) => `^(${rooms.filter((room) => !allowed.includes(room)).join('|')})/`;

/**
 * @param {string} name @param {string} comment
 * @param {Record<string, unknown>} from @param {Record<string, unknown>} to
 */
const forbid = (name, comment, from, to) => ({
  name,
  comment,
  severity: 'error',
  from: { ...from, pathNot: [test, ...(from.pathNot ?? [])] },
  to,
});

export default {
  forbidden: [
    {
      name: 'no-cycles',
      comment: 'Two files that need one another are one concept, or one concept too many; neither can be read alone.',
      severity: 'error',
      from: {},
      to: { circular: true },
    },
    {
      name: 'nothing-missing',
      comment: 'An import that leads nowhere runs on no machine but the one that happens to have the file.',
      severity: 'error',
      from: {},
      to: { couldNotResolve: true },
    },
    forbid(
      'schemas-import-nothing-of-ours',
      'Records cross every boundary; whatever they import, every room would import with them.',
      { path: '^schemas/' },
      { path: allBut('schemas') },
    ),
    forbid(
      'storage-imports-schemas-only',
      'A store keeps records and knows nothing of what they mean, so another store can take its place.',
      { path: '^storage/' },
      { path: allBut('storage', 'schemas') },
    ),
    forbid(
      'ports-know-no-adapter',
      'A port that imported one of its adapters would bring its driver to everybody who merely names the port.',
      { path: ports },
      { path: '^storage/', pathNot: ports },
    ),
    forbid(
      'ingest-imports-schemas-and-ports',
      'Ingest meets the other services in the log alone, so it can run in a process or on a machine of its own.',
      { path: '^ingest/' },
      { path: allBut('ingest', 'schemas'), pathNot: ports },
    ),
    forbid(
      'analysis-imports-schemas-only',
      'The computation is a function of its records: the same log gives the same findings, wherever it is read from.',
      { path: '^analysis/', pathNot: ['^analysis/worker[^/]*[.]ts$'] },
      { path: allBut('analysis', 'schemas') },
    ),
    forbid(
      'analysis-worker-imports-schemas-and-ports',
      'The worker is the one file of analysis that meets the stores, and it meets them through their ports.',
      { path: '^analysis/worker[^/]*[.]ts$' },
      { path: allBut('analysis', 'schemas'), pathNot: ports },
    ),
    forbid(
      'analysis-is-joined-by-its-worker',
      'If the computation imported its worker, it would import the stores with it.',
      { path: '^analysis/', pathNot: ['^analysis/worker[^/]*[.]ts$'] },
      { path: '^analysis/worker[^/]*[.]ts$' },
    ),
    forbid(
      'alerts-import-schemas-and-ports',
      'Alerts learn of findings from the log, never from analysis itself, so that a restart or a replay loses none.',
      { path: '^alerts/', pathNot: ['^alerts/http/'] },
      { path: allBut('alerts', 'schemas'), pathNot: ports },
    ),
    forbid(
      'alerts-http-may-render-pages',
      'The server hands out the pages; beyond them it is bound like the rest of alerts.',
      { path: '^alerts/http/' },
      { path: allBut('alerts', 'schemas', 'web'), pathNot: ports },
    ),
    forbid(
      'the-book-knows-no-server',
      'The life cycle of a task must hold with no server running, and be tested without one.',
      { path: '^alerts/', pathNot: ['^alerts/http/'] },
      { path: '^alerts/http/' },
    ),
    forbid(
      'web-imports-schemas-only',
      'Pages are drawn from records; the server calls them, and they call nothing back, so the arrow points one way.',
      { path: '^web/' },
      { path: allBut('web', 'schemas'), pathNot: ports },
    ),
    forbid(
      'demo-imports-schemas-only',
      'A demonstration that shared a formula with the analysis would prove nothing but that the formula equals itself.',
      { path: '^demo/' },
      { path: allBut('demo', 'schemas') },
    ),
    forbid(
      'nothing-imports-cli',
      'The command wires everything together and picks the adapters; what imported it could not be used without it.',
      { path: '^(?!cli/)', pathNot: ['^(test|bench)/'] },
      { path: '^cli/' },
    ),
    forbid(
      'only-wiring-picks-adapters',
      'Which store is used is decided in one file, so that a new one is added in one place.',
      { path: '^(?!storage/)', pathNot: ['^cli/wiring[.]ts$', '^(test|bench)/'] },
      { path: '^storage/', pathNot: ports },
    ),
    forbid(
      'nothing-imports-tests',
      'What ships must run without its tests and benchmarks.',
      { path: '^(?!test/|bench/)' },
      { path: '^(test|bench)/' },
    ),
    forbid(
      'pure-parts-use-no-node',
      'Formulas and reducers have no clock, disk or network: that is what makes a replay repeat itself byte for byte.',
      { path: pure },
      { dependencyTypes: ['core'] },
    ),
    forbid(
      'web-uses-no-node',
      'A page runs in a browser, or is drawn from records; either way there is no disk or process behind it.',
      { path: '^web/' },
      { dependencyTypes: ['core'] },
    ),
    {
      name: 'no-undeclared-packages',
      comment: 'A package that is there only because another one brought it may be gone after the next update.',
      severity: 'error',
      from: {},
      to: { dependencyTypes: ['npm-no-pkg', 'npm-unknown'] },
    },
    forbid(
      'what-ships-uses-runtime-packages',
      'A package that is only there for development is missing where the program is installed without it.',
      { path: '^(schemas|storage|ingest|analysis|alerts|web|cli|demo)/' },
      { dependencyTypes: ['npm-dev'], dependencyTypesNot: ['type-only'], pathNot: '^node_modules/@types/' },
    ),
  ],
  options: {
    doNotFollow: { path: 'node_modules' },
    exclude: { path: '^(dist|coverage)/' },
    tsPreCompilationDeps: true,
    tsConfig: { fileName: 'tsconfig.json' },
    enhancedResolveOptions: { exportsFields: ['exports'], conditionNames: ['import', 'types', 'node', 'default'] },
  },
};
