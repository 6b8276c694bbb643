import type { FastifyInstance } from 'fastify';

import { fail } from '../errors.js';
import { demandValue, settingNamed } from '../link/board_settings.js';
import type { SettingAnswer, SettingWish } from '../link/setting_desk.js';
import { mayChange } from './guard.js';
import { settingAnswerSchema, settingWishSchema } from './schemas.js';
import { strict } from './strict.js';

/** What can be changed about the bench. */
export interface Changes {
  /** @see SettingDesk.ask */
  setting(wish: SettingWish): Promise<SettingAnswer>;
}

interface Wish {
  readonly boot_id: number;
  readonly name: string;
  readonly value?: number | null;
}

/**
 * The routes that change something. Host and Origin were asked of every request
 * before it came here; these also want the other end to be on this machine.
 */
export function addChanges(app: FastifyInstance, changes: Changes | null): void {
  app.post<{ Body: Wish }>(
    '/api/settings',
    {
      // What was not meant exactly so is refused: the framework's own would make a number of a text, and drop a misspelt key.
      validatorCompiler: ({ schema }) => strict().compile(schema as object),
      schema: { body: settingWishSchema, response: { 200: settingAnswerSchema } },
      onRequest: mayChange,
    },
    async ({ body }) => {
      const { boot_id, value = null } = body;
      const name = settingNamed(body.name);
      if (value !== null) demandValue(name, value);
      if (changes === null) throw fail('BOARD_NOT_LIVE', { reason: 'what is served here is no bench but a replay' });
      return changes.setting({ boot_id, name, value });
    },
  );
}
