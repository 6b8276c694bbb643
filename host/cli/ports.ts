import type { Command } from 'commander';

import { listSerialPorts } from '../link/serial_port.js';
import { columns } from './output.js';
import type { Output } from './output.js';

export function addPorts(program: Command, output: Output): void {
  program
    .command('ports')
    .description('list the serial ports of this machine, without opening any')
    .action(async () => {
      const ports = await listSerialPorts();
      if (output.json) {
        output.data(ports, '');
        return;
      }
      if (ports.length === 0) {
        output.note('No serial port was found. Plug the board in; if it stays unseen, try another cable: some only charge.');
        return;
      }
      output.data(
        ports,
        columns([
          ['port', 'likely', 'maker', 'usb'],
          ...ports.map((p) => [p.path, p.likely ? 'yes' : 'no', p.maker ?? '-', p.usb ?? '-']),
        ]),
      );
    });
}
