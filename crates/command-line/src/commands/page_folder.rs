//! Texts typed on the page, laid into a folder for as long as they are read.

use crate::files::{self, Output};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};

/// A folder that goes when it is dropped.
pub struct Folder(PathBuf);

impl Folder {
    /// A folder with these files: name and text.
    pub fn with(texts: &[(&str, &str)]) -> Result<Folder, String> {
        static NEXT: AtomicUsize = AtomicUsize::new(0);
        let name = format!("sagitta-page-{}-{}", std::process::id(), NEXT.fetch_add(1, Ordering::Relaxed));
        let folder = Folder(std::env::temp_dir().join(name));
        // one that is there already is not ours
        fs::create_dir(&folder.0).map_err(|e| format!("{}: cannot be made: {e}", folder.0.display()))?;
        let outputs: Vec<Output> =
            texts.iter().map(|(name, text)| Output::new(name, (*text).to_string())).collect();
        files::write_all(&folder.0, &outputs)?;
        Ok(folder)
    }

    /// Where it lies.
    pub fn path(&self) -> &Path {
        &self.0
    }

    /// Names as they were typed into, not where they lie.
    pub fn plain(&self, text: &str) -> String {
        text.replace(&format!("{}{}", self.0.display(), std::path::MAIN_SEPARATOR), "")
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}
