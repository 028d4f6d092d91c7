import type { Check } from "../frame.ts";
import { boardFitting } from "./board-fitting.ts";
import { busAddress } from "./bus-address.ts";
import { busKind } from "./bus-kind.ts";
import { busLength } from "./bus-length.ts";
import { busTiming } from "./bus-timing.ts";
import { cableCapacitance } from "./cable-capacitance.ts";
import { cableEdge } from "./cable-edge.ts";
import { cableLevels } from "./cable-levels.ts";
import { cableNets } from "./cable-nets.ts";
import { driveRecording } from "./drive-recording.ts";
import { driveSides } from "./drive-sides.ts";
import { fanOut } from "./fan-out.ts";
import { imageSize } from "./image-size.ts";
import { imageWhole } from "./image-whole.ts";
import { legibility } from "./legibility.ts";
import { loginWait } from "./login-wait.ts";
import { mediumDrive } from "./medium-drive.ts";
import { mediumRecording } from "./medium-recording.ts";
import { memoryBanks } from "./memory-banks.ts";
import { memoryDecode } from "./memory-decode.ts";
import { memoryMap } from "./memory-map.ts";
import { memoryNeeds } from "./memory-needs.ts";
import { memoryRom } from "./memory-rom.ts";
import { memoryRoom } from "./memory-room.ts";
import { memoryStart } from "./memory-start.ts";
import { memoryTranslation } from "./memory-translation.ts";
import { portDescriptor } from "./port-descriptor.ts";
import { portFraming } from "./port-framing.ts";
import { portOverrun } from "./port-overrun.ts";
import { portRateCheck } from "./port-rate.ts";
import { regulatorHeat } from "./regulator-heat.ts";
import { screenFill } from "./screen-fill.ts";
import { supplyCurrent } from "./supply-current.ts";
import { supplyDrop } from "./supply-drop.ts";
import { supplyRipple } from "./supply-ripple.ts";
import { systemBoot } from "./system-boot.ts";
import { systemCpu } from "./system-cpu.ts";
import { systemFiles } from "./system-files.ts";
import { systemModules } from "./system-modules.ts";
import { terminalControls } from "./terminal-controls.ts";
import { terminalRate } from "./terminal-rate.ts";
import { terminalWidth } from "./terminal-width.ts";

/** Every check, in the order of the links. A new check is one file here and its line in this list. */
export const CHECKS: readonly Check[] = [
  imageWhole,
  imageSize,
  mediumDrive,
  mediumRecording,
  driveSides,
  driveRecording,
  busKind,
  busAddress,
  busLength,
  supplyCurrent,
  regulatorHeat,
  supplyRipple,
  supplyDrop,
  fanOut,
  busTiming,
  boardFitting,
  memoryMap,
  memoryDecode,
  memoryStart,
  memoryRom,
  memoryBanks,
  memoryNeeds,
  memoryRoom,
  memoryTranslation,
  systemCpu,
  systemModules,
  systemBoot,
  systemFiles,
  portRateCheck,
  portFraming,
  portDescriptor,
  portOverrun,
  cableNets,
  cableLevels,
  cableCapacitance,
  cableEdge,
  terminalRate,
  terminalWidth,
  terminalControls,
  screenFill,
  legibility,
  loginWait,
];
