import packageFile from '../package.json' with { type: 'json' };

/** Version of chargeair, as package.json has it. */
export const VERSION = packageFile.version;
