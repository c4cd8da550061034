document.body.classList.add("works");
