import { MB } from '../../store/disk.js';
import { writerLimits } from '../../store/writer_terms.js';
import { bad, ok, warn } from './finding.js';
import type { Finding } from './finding.js';

/** A serial port as this user finds it. */
export interface PortFact {
  readonly path: string;
  readonly likely: boolean;
  readonly maker: string | null;
  /** Whether this user may read and write it. */
  readonly allowed: boolean;
  /** The group that may, by name or number; null: unknown. */
  readonly group: string | null;
  /** How long the adapter holds bytes back; null: it has no such setting, or does not say. */
  readonly latency_ms: number | null;
  /** Process of ours that has it open; null: none. */
  readonly heldBy: number | null;
}

export interface MachineFacts {
  /** process.version */
  readonly node: string;
  readonly platform: string;
  readonly arch: string;
  readonly folder: string;
  /** Why the data folder cannot be written; null: it can. */
  readonly folderTrouble: string | null;
  readonly free_bytes: number | null;
  readonly ports: readonly PortFact[];
  /** Names of running programs that are known to reach for serial ports. */
  readonly rivals: readonly string[];
  /** Records that are being written. */
  readonly writers: readonly { readonly db: string; readonly pid: number }[];
}

/** Beyond this times stay right, but their uncertainty grows. */
const LATENCY_MAX_ms = 2;
/** As package.json has it. */
const NODE = { major: 20, minor: 19 };

export const rivalPrograms: Readonly<Record<string, string>> = {
  ModemManager: 'It writes to every new serial port to see whether it is a modem. Stop it (systemctl disable --now ModemManager), or tell udev to leave the board alone (ID_MM_DEVICE_IGNORE=1 for its vendor and product).',
  brltty: 'It takes USB adapters of some makers for braille displays, and the port vanishes. If nobody here reads braille: apt-get remove brltty.',
};

/** What can be said of the machine. Pure. */
export function judgeMachine(facts: MachineFacts): Finding[] {
  return [
    judgeNode(facts.node),
    judgePlatform(facts),
    facts.folderTrouble === null ? ok('data folder', `${facts.folder} can be written`) : bad('data folder', `${facts.folder} cannot be written (${facts.folderTrouble})`, 'See to its rights, or name a record elsewhere with --db.'),
    judgeSpace(facts),
    ...judgePorts(facts.ports),
    ...facts.rivals.map((name) => warn('other program', `${name} is running`, rivalPrograms[name] ?? 'Stop it.')),
    ...facts.writers.map(({ db, pid }) => ok('record in use', `${db} is being written by process ${pid}`)),
  ];
}

function judgeNode(version: string): Finding {
  const [major = 0, minor = 0] = version.replace(/^v/, '').split('.').map(Number);
  const wanted = `${NODE.major}.${NODE.minor} or later of ${NODE.major}`;
  if (major === NODE.major && minor >= NODE.minor) return ok('Node.js', version);
  return bad('Node.js', `${version}, where ${wanted} is needed`, `Install Node.js ${NODE.major} and run npm ci again: the native add-ons are built for one edition.`);
}

function judgePlatform({ platform, arch }: MachineFacts): Finding {
  const says = `${platform} on ${arch}`;
  if (!arch.endsWith('64')) return warn('machine', `${says}: not 64 bits`, 'Use a 64-bit system: the add-ons are not tried on others.');
  return platform === 'linux' ? ok('machine', says) : warn('machine', `${says}: tried on Linux only`, 'Tell us how it goes.');
}

function judgeSpace({ free_bytes, folder }: MachineFacts): Finding {
  if (free_bytes === null) return warn('disk', `${folder} does not say how much is free`, 'Keep an eye on it: an hour at full rate takes some 40 MB.');
  const says = `${MB(free_bytes)} MB free in ${folder}`;
  if (free_bytes < writerLimits.spaceReserve_bytes) return bad('disk', `${says}, ${MB(writerLimits.spaceReserve_bytes)} MB are needed to record at all`, 'Free some space.');
  return free_bytes < writerLimits.spaceLow_bytes ? warn('disk', says, 'Free some space: an hour at full rate takes some 40 MB.') : ok('disk', says);
}

function judgePorts(ports: readonly PortFact[]): Finding[] {
  const likely = ports.filter((p) => p.likely);
  if (likely.length === 0) {
    return [warn('serial port', 'no USB serial port is there', 'Plug the board in. If it stays unseen, try another cable: some only charge. The demo needs no port.')];
  }
  return likely.flatMap((p) => (p.latency_ms === null || p.latency_ms <= LATENCY_MAX_ms ? [judgePort(p)] : [judgePort(p), slow(p, p.latency_ms)]));
}

function judgePort(p: PortFact): Finding {
  const name = p.maker === null ? p.path : `${p.path} (${p.maker})`;
  if (p.heldBy !== null) return ok('serial port', `${name} is in use by smallbrake process ${p.heldBy}`);
  if (p.allowed) return ok('serial port', `${name} may be opened`);
  const group = p.group ?? 'dialout';
  return bad('serial port', `${name} may not be opened by this user`, `Join its group and log in again: sudo usermod -aG ${group} $USER`);
}

/** The program asks for low latency on opening; not every adapter does as it is asked. */
function slow({ path }: PortFact, latency_ms: number): Finding {
  const name = path.replace('/dev/', '');
  return warn('latency', `${path} holds bytes back for ${latency_ms} ms while nobody has it open`, `If times come out worse than ${LATENCY_MAX_ms} ms: echo 1 | sudo tee /sys/bus/usb-serial/devices/${name}/latency_timer, and a udev rule to keep it.`);
}
