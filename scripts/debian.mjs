// Debian packages that the tests check the house against. As root on Debian they are installed; elsewhere it says which.
import { spawnSync } from "node:child_process";
import { existsSync, readFileSync } from "node:fs";

/** Package, and a program of it that shows it is there. */
const PACKAGES = [
  ["chromium", "/usr/bin/chromium"],
  ["dosfstools", "/usr/sbin/mkfs.fat"],
  ["mtools", "/usr/bin/mcopy"],
  ["cc65", "/usr/bin/ca65"],
  ["crasm", "/usr/bin/crasm"],
  ["z80asm", "/usr/bin/z80asm"],
  ["capstone-tool", "/usr/bin/cstool"],
  ["sdcc-ucsim", "/usr/bin/sz80"],
  ["binutils", "/usr/bin/objcopy"],
  ["lrzsz", "/usr/bin/sx"],
  ["socat", "/usr/bin/socat"],
  ["libvterm-bin", "/usr/bin/vterm-dump"],
];

export function ensureDebianPackages() {
  const missing = PACKAGES.filter(([, program]) => !existsSync(program)).map(([name]) => name);
  if (missing.length === 0) return;
  const debian =
    existsSync("/etc/debian_version") ||
    /ID_LIKE=.*debian/.test(existsSync("/etc/os-release") ? readFileSync("/etc/os-release", "utf8") : "");
  if (!debian || process.getuid?.() !== 0) {
    console.error(
      `The tests check Rouse against other programs. Install these Debian packages first:\n  sudo apt-get install ${missing.join(" ")}`,
    );
    process.exit(1);
  }
  console.log(`Installing Debian packages: ${missing.join(" ")} …`);
  const apt = (...args) =>
    spawnSync("apt-get", args, {
      stdio: ["ignore", "ignore", "inherit"],
      env: { ...process.env, DEBIAN_FRONTEND: "noninteractive" },
    }).status === 0;
  if (!apt("update") || !apt("install", "-y", "--no-install-recommends", ...missing)) {
    console.error("apt-get could not install them; see above.");
    process.exit(1);
  }
}
