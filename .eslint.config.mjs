import tseslint from 'typescript-eslint';

export default tseslint.config(
  { ignores: ['dist/**', 'node_modules/**', 'firmware/build/**'] },
  {
    files: ['**/*.ts'],
    extends: [...tseslint.configs.strictTypeChecked],
    languageOptions: { parserOptions: { project: './tests/tsconfig.json', tsconfigRootDir: import.meta.dirname } },
    rules: {
      // Units stand in names (torque_Nm), so numbers go into messages as they are.
      '@typescript-eslint/restrict-template-expressions': ['error', { allowNumber: true, allowBoolean: true }],
      '@typescript-eslint/no-non-null-assertion': 'error',
      '@typescript-eslint/no-confusing-void-expression': ['error', { ignoreArrowShorthand: true }],
      eqeqeq: 'error',
      'no-console': 'error',
    },
  },
  // What runs in the browser has another library of types.
  { files: ['host/page/src/**/*.ts'], languageOptions: { parserOptions: { project: './host/page/tsconfig.json', tsconfigRootDir: import.meta.dirname } } },
);
