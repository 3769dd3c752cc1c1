#!/usr/bin/env node
// The 32-bit MicroPython in the place of the unix port's binary, behind a virtual board:
//     MICROPYPATH=FIRMWARE micropython_wasm.mjs SCRIPT IMAGE ...
// SCRIPT is one of firmware/virtual/ and runs as it is, and so does the firmware. Four things
// are other than in the unix port:
// - This build has no littlefs. IMAGE is a folder; each file is written to it when it is closed.
// - It sees no files of this machine: those that the arguments name are handed in beforehand.
// - The pipes to the simulator are handed in as devices, which wait as a pipe does. Asked whether
//   something has come they say no: in lock-step nothing comes that is not waited for.
// - Nobody is on the serial line: nothing comes in, and what goes out is printed.
import './quick_table.mjs';
import { loadMicroPython } from '@micropython/micropython-webassembly-pyscript/micropython.mjs';
import fs from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

const [script, image, ...words] = process.argv.slice(2);
const STAND_INS = path.join(path.dirname(fileURLToPath(import.meta.url)), 'stand_ins');
const FLASH = '/image';

const mp = await loadMicroPython({
  heapsize: 2 * 1024 * 1024,
  stdin: () => null,
  stdout: (line) => fs.writeSync(1, `${line}\n`),
  linebuffer: true,
});
const { FS } = mp;

function handIn(source, target) {
  if (fs.statSync(source).isDirectory()) {
    FS.mkdirTree(target);
    for (const name of fs.readdirSync(source)) {
      handIn(path.join(source, name), `${target}/${name}`);
    }
  } else {
    FS.mkdirTree(path.dirname(target));
    FS.writeFile(target, fs.readFileSync(source));
  }
}

// From now on what happens to a file under FLASH happens to the one in the folder as well.
function keepFlash(folder) {
  const { close, mkdir, rename, rmdir, unlink } = FS;
  const outside = (place) => {
    const whole = FS.lookupPath(path.dirname(place)).path;
    const found = path.posix.join(whole, path.basename(place));
    return found.startsWith(`${FLASH}/`) ? path.join(folder, found.slice(FLASH.length)) : null;
  };
  const both = (inside, beside) => (...places) => {
    const there = places.filter((place) => typeof place === 'string').map(outside);
    const result = inside(...places);
    if (there[0] !== null) beside(...there);
    return result;
  };
  FS.mkdir = both(mkdir, (place) => fs.mkdirSync(place));
  FS.rmdir = both(rmdir, (place) => fs.rmdirSync(place));
  FS.unlink = both(unlink, (place) => fs.unlinkSync(place));
  FS.rename = both(rename, (from, to) => fs.renameSync(from, to));
  FS.close = (stream) => {
    const there = stream.flags & 3 ? outside(stream.path) : null;
    close(stream);
    if (there !== null) fs.writeFileSync(there, FS.readFile(stream.path));
  };
}

function pipe(name, number, mode) {
  const end = Number(number);
  const device = FS.makedev(64, end);
  FS.registerDevice(device, {
    read: (stream, buffer, offset, length) => fs.readSync(end, buffer, offset, length),
    write: (stream, buffer, offset, length) => fs.writeSync(end, buffer, offset, length),
    poll: () => 0,
  });
  FS.mkdev(name, device);
  return String(FS.open(name, mode).fd);
}

function fileOf(word) {
  const name = word.slice(word.indexOf('=') + 1);
  return path.isAbsolute(name) && fs.existsSync(name) ? name : null;
}

handIn(process.env.MICROPYPATH, '/desk');
handIn(STAND_INS, '/stand_ins');
if (fs.existsSync(image)) handIn(image, FLASH);
else {
  fs.mkdirSync(image);
  FS.mkdir(FLASH);
}
words.map(fileOf).filter(Boolean).forEach((name) => handIn(name, name));
if (path.basename(script) === 'start.py') {
  words[0] = pipe('/dev/from_simulator', words[0], 'r');
  words[1] = pipe('/dev/to_simulator', words[1], 'w');
}
keepFlash(image);
const before = `
import sys
sys.path[:] = ["", "/stand_ins", "/desk"]
import this_board
this_board.begin(${JSON.stringify([script, FLASH, ...words])})
`;
try {
  mp.runPython(before);
  mp.runPython(fs.readFileSync(script, 'utf8'));
} catch (error) {
  if (error.type !== 'SystemExit') {
    fs.writeSync(2, `${error}\n`);
    process.exitCode = 1;
  }
}
