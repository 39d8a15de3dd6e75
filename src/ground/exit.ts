// The exit numbers of every command, and which one wins when several apply.

export const exit = {
  done: 0,
  differs: 1,
  usage: 2,
  noConversation: 3,
  refused: 4,
  ourFault: 70,
  interrupted: 130,
} as const;

/** From worst to best: the worst of several outcomes is what the process ends with. */
const worstFirst: readonly number[] = [70, 130, 4, 3, 2, 1, 0];

export const worstExit = (exits: readonly number[]): number => worstFirst.find((e) => exits.includes(e)) ?? 0;
