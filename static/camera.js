// The desk's camera: frames go to the office's own machine, which reads the codes; the page only films.
const part = document.querySelector("[data-camera]");
if (part && navigator.mediaDevices?.getUserMedia) {
  const film = part.querySelector("[data-film]");
  const said = part.querySelector("[data-said]");
  const start = part.querySelector("[data-start]");
  const token = part.querySelector("[name=csrf_token]").value;
  const canvas = document.createElement("canvas");
  let sending = false;
  let frames = 0;
  let began = 0;
  part.hidden = false;

  async function send() {
    if (sending || !film.videoWidth) return;
    sending = true;
    try {
      canvas.width = film.videoWidth;
      canvas.height = film.videoHeight;
      canvas.getContext("2d").drawImage(film, 0, 0);
      const picture = await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.85));
      const form = new FormData();
      form.append("csrf_token", token);
      form.append("frame", picture, "frame.jpg");
      const answer = await fetch(part.dataset.to || "/intake/frame", { method: "POST", body: form });
      const told = await answer.json();
      frames += 1;
      said.textContent = `${told.says} (${(frames / ((performance.now() - began) / 1000)).toFixed(1)} frames a second)`;
      part.dataset.read = String(told.read);
      if (told.complete) location.assign(part.dataset.done || "/intake");
    } catch {
      said.textContent = "The office's machine does not answer. Keep the camera still, it tries again.";
    } finally {
      sending = false;
    }
  }

  start.addEventListener("click", async () => {
    try {
      film.srcObject = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment", width: { ideal: 1280 } } });
      film.hidden = false;
      await film.play();
      began = performance.now();
      setInterval(send, 120);
      said.textContent = "Hold the tablet so that one code fills the picture.";
    } catch {
      said.textContent = "This browser gives no camera here. Use the hand scanner, a photograph or the file.";
    }
  });
}
