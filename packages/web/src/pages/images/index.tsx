export default function ImagesPage() {
  return null;
}
