// Which files are plans: told by their names, so that nothing has to be read for it.
const planName = /\.(ya?ml|[cm]?[jt]s)$/i;

export const isPlanFile = (path: string): boolean => planName.test(path);
