import { useRoute } from "../../app/route.ts";
import { ImageList } from "./image-list.tsx";
import { ImageView } from "./image-view.tsx";
import "../../parts/tabs.css";
import "./images.css";
import "./disk.css";

export default function ImagesPage() {
  const { parts, query } = useRoute();
  const [, name] = parts;
  const within = query.get("in") ?? "";
  return name === undefined ? <ImageList /> : <ImageView key={`${name} ${within}`} name={name} within={within} />;
}
