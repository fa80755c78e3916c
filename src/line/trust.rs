//! Whom we believe over TLS: the machine's own authorities and, if the settings name one, the farm's.
//!
//! One provider (ring), named here and not installed for the whole process, so that no other crate's
//! choice matters. Certificates are always checked; there is no way to turn that off.

use std::path::Path;
use std::sync::Arc;

use rustls::pki_types::CertificateDer;
use rustls::pki_types::pem::PemObject;
use rustls::{ClientConfig, RootCertStore};

/// What a client needs to begin TLS. `ca` is a PEM file of authorities to trust besides the machine's.
pub fn client(ca: Option<&Path>) -> Result<Arc<ClientConfig>, String> {
    let mut roots = RootCertStore::empty();
    let (_taken, _unreadable) =
        roots.add_parsable_certificates(rustls_native_certs::load_native_certs().certs);
    if let Some(path) = ca {
        add(&mut roots, path)?;
    }
    if roots.is_empty() {
        return Err(
            "this machine knows no certificate authority: install the package ca-certificates, \
             or name the farm's own with ca"
                .to_owned(),
        );
    }
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let config = ClientConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()
        .map_err(|e| format!("TLS cannot be used: {e}"))?
        .with_root_certificates(roots)
        .with_no_client_auth();
    Ok(Arc::new(config))
}

fn add(roots: &mut RootCertStore, path: &Path) -> Result<(), String> {
    let wrong = |why: String| {
        format!("the certificate file {} cannot be used: {why}; it must be PEM", path.display())
    };
    let certificates = CertificateDer::pem_file_iter(path).map_err(|e| wrong(e.to_string()))?;
    let mut any = false;
    for certificate in certificates {
        let certificate = certificate.map_err(|e| wrong(e.to_string()))?;
        roots.add(certificate).map_err(|e| wrong(e.to_string()))?;
        any = true;
    }
    if any { Ok(()) } else { Err(wrong("it holds no certificate".to_owned())) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_without_a_certificate_is_named() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("farm-ca.pem");
        std::fs::write(&path, "not a certificate").unwrap();
        let why = client(Some(&path)).unwrap_err();
        assert_eq!(
            why,
            format!(
                "the certificate file {} cannot be used: it holds no certificate; it must be PEM",
                path.display()
            )
        );
    }
}
