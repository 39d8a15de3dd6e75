// The keep and the book of this user.
import { type Book, openBook } from '../job/book.js';
import { type Keep, openKeep } from '../job/keep.js';
import { dataFiles } from './data-files.js';
import type { World } from './world.js';

export const keepOf = (world: World): Keep => openKeep(dataFiles(world.files), `${world.dataFolder}/keep`);
export const bookOf = (world: World): Book => openBook(dataFiles(world.files), world.dataFolder);
