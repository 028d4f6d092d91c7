import { Button } from "react-aria-components";

/** The bench file was changed elsewhere while there are edits here: the person decides. */
export function OutsideChange({ onTake, onKeep }: { onTake: () => void; onKeep: () => void }) {
  return (
    <div className="notice is-choice" role="alert">
      <p>
        bench.yaml was changed by another program while you edited it here. Take that text (yours goes into the undo
        history), or keep yours and save to put it in the file's place.
      </p>
      <div className="buttons">
        <Button className="button" onPress={onTake}>
          Take theirs
        </Button>
        <Button className="button is-quiet" onPress={onKeep}>
          Keep mine
        </Button>
      </div>
    </div>
  );
}
