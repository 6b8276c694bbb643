import type { Command } from 'commander';

import { schemaHash } from '../../protocol/messages.js';
import type { Output } from './output.js';

export function addVersion(program: Command, output: Output, version: string): void {
  program
    .command('version')
    .description('say which edition of the program and of the wire protocol this is')
    .action(() => {
      const protocol = schemaHash().toString(16).toUpperCase().padStart(8, '0');
      output.data({ version, protocol, node: process.version }, `smallbrake ${version}, wire protocol ${protocol}, Node.js ${process.version}`);
    });
}
